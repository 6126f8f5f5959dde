"""Rows in a project: which key a finger presses, and what is refused with what to write instead."""

import pytest
from rows import CONE, TUBE
from shelf import changed, pipe

from optimizer.project.hand import Hand, touch_reach_mm
from optimizer.project.loading import ProjectError
from optimizer.project.rows import resting_keys


def told(text):
    """What is to mend in a project."""
    with pytest.raises(ProjectError) as caught:
        pipe(text)
    return [finding.sentence for finding in caught.value.findings]


def resting(text):
    """The key that each finger rests on."""
    project = pipe(text).project
    return resting_keys(project.rows, project.holes, project.keys)


def openness(text):
    """Openness of every hole in each line of the chart."""
    return {(note.written, note.touches): note.openness for note in pipe(text).notes}


def test_fingers_rest_on_their_first_key_and_little_fingers_and_thumbs_on_their_only_one():
    # R1 has two keys and a link, LT two.
    assert resting(TUBE) == {"R1": "k3", "R2": "k2", "R3": "k1", "L3": "k5", "R4": "low"}


def test_a_finger_and_the_key_it_rests_on_are_one():
    plain = openness(CONE)["E3", "L123 R1"]
    assert plain == (1, 1, 0, 0, 0, 0, 0)
    for said in ("k6 k5 k4 k3", "L123 k3", "L12 k4 R1"):
        assert openness(changed("E3   1  L123 R1\n", f"E3   1  {said}\n", CONE))["E3", said] == plain


def test_a_link_moves_by_the_key_that_its_finger_rests_on():
    # Lines with R1, R2 or k2 close p4 by way of the link.
    found = openness(TUBE)
    holes = [hole.id for hole in pipe(TUBE).project.holes]
    shut = {touches for (_, touches), states in found.items() if states[holes.index("p4")] == 0}
    assert shut == {"L3 R123", "L3 R12", "L3 R1", "L3 k2"}


def test_without_a_row_a_finger_without_a_hole_presses_nothing():
    text = CONE[: CONE.index("[rows]")] + CONE[CONE.index("[chart]") :]
    text = changed("[venting]", "[search]\nobjectives = { stretch = false }\n\n[venting]", text)
    sentences = told(text)
    assert [sentence.split(" lie on no hole")[0][-9:] for sentence in sentences] == ["L2 and L3", "R2 and R3"]
    assert all(
        "press nothing; with " in sentence and " = {} in [rows] each rests on" in sentence for sentence in sentences
    )


def test_a_finger_that_presses_nothing_is_told():
    (sentence,) = told(changed("C4   1  none", "C4   1  R4", CONE))
    assert "R4 presses nothing: no hole is under it, and no key has it for its touch; leave it out" in sentence
    (sentence,) = told(changed("C5   1  up", "C5   1  LT", TUBE))
    assert "LT rests beside its keys and on none of them; name the one that it presses: up, top" in sentence


FAR = """\
p1 = { by = "R3", cover = "plate", position_mm = [960, 1090], diameter_mm = [9, 24], chimney_mm = 6 }
p2 = { by = "R2", position_mm = [860, 900], diameter_mm = [9, 12], chimney_mm = 6 }
p3 = { by = "R1", position_mm = [840, 880], diameter_mm = [9, 12], chimney_mm = 6 }
"""


def far():
    """The cone with the right hand on its holes, the lowest of them far beyond it."""
    lines = CONE.split("\n")
    rows = [line for line in lines if not line.startswith(("p1 =", "p2 =", "p3 =", "k1 =", "k2 =", "k3 =", "right ="))]
    return "\n".join(rows).replace("[holes]\n", f"[holes]\n{FAR}")


def test_a_hole_far_beyond_the_hand_says_what_to_write_and_that_is_enough():
    # From R2, 900 at the most, to R3, 960 less a plate's 15: 45, where middle to ring has 29.
    (sentence,) = told(far())
    assert sentence == (
        "holes.p1.by: R2-R3 reach 29 mm, but the ranges leave at least 45, more than a plate makes good; a key has to "
        'carry the touch to R3: write by = "key" here and leave out cover = "plate", add '
        'k_p1 = { touch = "R3", closes = ["p1"] } as the first key of R3 to [keys], and right = {} to [rows]; '
        "R3 in the chart then presses it"
    )
    mended = changed('by = "R3", cover = "plate"', 'by = "key"', far())
    mended = changed("[keys]\n", '[keys]\nk_p1 = { touch = "R3", closes = ["p1"] }\n', mended)
    mended = changed("[rows]\n", "[rows]\nright = {}\n", mended)
    assert openness(mended)["C3", "L123 R123"] == (0, 0, 0, 0, 0, 0, 0)


def test_a_touch_that_no_little_finger_reaches_round_the_body_is_refused():
    # 40 mm further round than it lands by itself, drawn in to the 17 mm that fingers need: the root of 1600 + 289.
    (sentence,) = told(changed('low = { touch = "R4"', 'low = { touch = "R4", touch_across_mm = 40', TUBE))
    assert sentence == (
        "keys.low: R4 cannot reach its touch round the body: 17 mm along and 55 mm round it from R3, of which it lands "
        "15 by itself, are 43.5 mm, and spread as far as it goes the hand has 37.5; bring it nearer (touch_across_mm, "
        "touch_along_mm), give that finger fewer keys, or the key another finger"
    )


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (("spacing_mm = 26", "spacing_mm = 15"), "R1-R2 need 17 mm between centres, but the row leaves 15"),
        (("spacing_mm = 26", "spacing_mm = 33"), "R1-R2 reach 31 mm, but lie 33 apart in the row; draw it together"),
        (("position_mm = 600", "position_mm = 1100"), "must lie between 0 and 1000, on the body beyond the crook"),
        (("spacing_mm = 26", "spacings_mm = 26"), "did you mean 'spacing_mm'"),
    ],
)
def test_a_row_that_cannot_be_is_refused(change, sentence):
    assert any(sentence in each for each in told(changed(*change, TUBE)))


def test_a_hands_own_reach_goes_before_the_keyworks():
    hand = Hand.model_validate({"left": {"thumb_reach_mm": [20, 28]}, "right": {"side_reach_mm": [15, 22]}})
    assert touch_reach_mm(hand, "LT", 35.0) == 28.0
    assert touch_reach_mm(hand, "RT", 35.0) == 28.0  # by the other hand
    assert touch_reach_mm(hand, "R1", 35.0) == 22.0
    assert touch_reach_mm(Hand(), "R1", 35.0) == 35.0
