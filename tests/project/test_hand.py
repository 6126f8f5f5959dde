"""What follows from one measurement of a hand for each pair of fingers, by arithmetic on paper; hand files."""

import math
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st
from places import CONFIGS
from shelf import KEYED, PIPE, changed

from optimizer.project.hand import PAIRS, Hand, pair_limits, seal_limit_mm
from optimizer.project.included import IncludedError, read_included, taken_in
from optimizer.project.loading import ProjectError, load_project, parse_project
from optimizer.views.overview import values_in_force

HANDS = CONFIGS / "hands"
BY_SIZE = ("child-about-11", "small-adult", "median-adult", "large-adult")


def left(text):
    """Limits of the left hand of a `[hand]` table."""
    return pair_limits(Hand.model_validate(tomllib.loads(text)), "L")


# From one measurement to a pair. Shares of the span: 0.31, 0.29, 0.57, 0.30, 0.92; comfortable 0.66 and working 0.80 of
# the maximum; span 0.70 of the thumb's span, that 0.98 of hand length.
ROUTES = {
    # 150 x 0.31 = 46.5; x 0.66 = 30.69; x 0.8 = 37.2; 8 % of 37.2 = 2.976
    "span index to little": ("span_index_little_mm = 150", "index_middle", (30.69, 37.2, 46.5, 2.976)),
    # 150 x 0.92 = 138; 91.08; 110.4; 8 % is 8.832
    "sum of four fingers": ("span_index_little_mm = 150", "index_little", (91.08, 110.4, 138.0, 8.832)),
    # 200 x 0.7 = 140; x 0.29 = 40.6; 26.796; 32.48; root of 8^2 + 8^2 is 11.3137 %, 3.67469
    "span thumb to little": ("span_thumb_little_mm = 200", "middle_ring", (26.796, 32.48, 40.6, 3.67469)),
    # 200 x 0.98 x 0.7 = 137.2; x 0.57 = 78.204; 51.61464; 62.5632; root of 64 + 64 + 121 is 15.7797 %, 9.87230
    "hand length": ("hand_length_mm = 200", "index_ring", (51.61464, 62.5632, 78.204, 9.87230)),
    # the same, x 0.30 = 41.16; 27.1656; 32.928; 15.7797 % is 5.19595
    "little finger": ("hand_length_mm = 200", "ring_little", (27.1656, 32.928, 41.16, 5.19595)),
}


@pytest.mark.parametrize(("line", "pair", "expected"), ROUTES.values(), ids=list(ROUTES))
def test_limits_by_one_measurement(line, pair, expected):
    assert left(f"[left]\n{line}")[pair][:4] == pytest.approx(expected, rel=1e-5)


def test_a_gauged_pair_stands_as_measured():
    # The maximum was not gauged: 32 / 0.8 = 40. One standard deviation of a gauged figure is 1.5 mm.
    found = left('gauged_on = "2026-11-02"\n[left]\nindex_middle_mm = [27, 32]\nhand_length_mm = 140')["index_middle"]
    assert found == (27.0, 32.0, 40.0, 1.5, "gauged")


def test_a_gauged_maximum_stands_too():
    assert left("[left]\nindex_middle_mm = [27, 32, 36]")["index_middle"][:3] == (27.0, 32.0, 36.0)


def test_a_pair_not_gauged_follows_from_those_that_were():
    # 31 / (0.31 x 0.8) = 125 and 29 / (0.29 x 0.8) = 125: the span is 125, so index to ring has 71.25, of which 57.
    text = 'gauged_on = "2026-11-02"\n[left]\nindex_middle_mm = [25, 31]\nmiddle_ring_mm = [24, 29]'
    found = left(text)["index_ring"]
    assert found[:3] == pytest.approx((47.025, 57.0, 71.25))
    assert found.basis == "other pairs"


def test_pair_figures_that_are_estimates_count_after_a_measured_span():
    text = "[left]\nindex_middle_mm = [25, 31]\nspan_thumb_little_mm = 200"
    assert left(text)["index_middle"].basis == "estimate"
    assert left(text)["middle_ring"].basis == "span thumb to little"


INPUTS = {
    "index_middle_mm": "[25, 31]",
    "span_index_little_mm": "125",
    "span_thumb_little_mm": "178.571",
    "hand_length_mm": "182.2",
}


def test_the_weaker_the_measurement_the_wider_the_deviation():
    # The four say the same of index and middle: 31 mm is the working limit.
    widths = []
    for key, value in INPUTS.items():
        found = left(f'gauged_on = "today"\n[left]\n{key} = {value}')["index_middle"]
        assert found.working_mm == pytest.approx(31.0, abs=0.01)
        widths.append(found.sd_mm)
    assert widths == sorted(widths)
    assert len(set(widths)) == len(widths)
    assert left("")["index_middle"].sd_mm > widths[-1]


def test_the_strongest_measurement_counts():
    lines = [f"{key} = {value}" for key, value in INPUTS.items()]
    basis = [left('gauged_on = "today"\n[left]\n' + "\n".join(lines[k:]))["index_middle"].basis for k in range(4)]
    assert basis == ["gauged", "span index to little", "span thumb to little", "hand length"]


def test_nothing_given_is_a_small_adult_hand():
    assert {pair: limits[:2] for pair, limits in left("").items()} == {
        "index_middle": (25.0, 31.0),
        "middle_ring": (24.0, 29.0),
        "index_ring": (46.0, 57.0),
        "ring_little": (23.0, 30.0),
        "index_little": (73.0, 91.0),
    }


def test_a_hand_not_measured_is_taken_for_the_other_one():
    # 8 % and 4 % together: root of 80 is 8.9443 %, of 37.2 mm 3.32727.
    hand = Hand.model_validate({"right": {"span_index_little_mm": 150}})
    found = pair_limits(hand, "L")["index_middle"]
    assert found[:3] == pair_limits(hand, "R")["index_middle"][:3]
    assert found.sd_mm == pytest.approx(3.32727, rel=1e-5)
    assert found.basis == "span index to little, the other hand's"


def test_every_ratio_may_be_changed():
    text = "[left]\nspan_index_little_mm = 100\n[model]\nindex_middle_share = 0.4\nworking_share = 0.9"
    assert left(text)["index_middle"][:3] == pytest.approx((26.4, 36.0, 40.0))


@given(st.floats(110, 250), st.floats(1.01, 1.3), st.sampled_from(list(INPUTS)[1:]))
def test_a_larger_hand_reaches_further_in_proportion(size, factor, key):
    small, large = (left(f"[left]\n{key} = {size * k / factor}") for k in (1.0, factor))
    for pair in PAIRS:
        assert large[pair][:4] == pytest.approx([factor * value for value in small[pair][:4]], rel=1e-9)
        assert small[pair].comfortable_mm < small[pair].working_mm < small[pair].maximum_mm


def test_what_each_finger_seals():
    hand = Hand.model_validate({"seal_diameter_max_mm": 10.0, "ring_seal_less_mm": 1.0, "little_seal_less_mm": 2.0})
    assert [seal_limit_mm(hand, finger) for finger in ("LT", "L1", "R2", "R3", "L4")] == [10.0, 10.0, 10.0, 9.0, 8.0]


# hand files


def test_the_four_hands_are_ordered_by_size():
    hands = [read_included(HANDS / f"{name}.toml", Hand, "hand").model for name in BY_SIZE]
    assert {path.stem for path in HANDS.glob("*.toml")} == set(BY_SIZE)
    for side in "LR":
        for pair in PAIRS:
            working = [pair_limits(hand, side)[pair].working_mm for hand in hands]
            assert working == sorted(working)
            assert len(set(working)) == 4
    for key in ("seal_diameter_max_mm", "finger_breadth_mm", "spacing_min_mm", "grip_diameter_advised_mm"):
        sizes = [getattr(hand, key) for hand in hands]
        assert sizes == sorted(sizes)


@pytest.mark.parametrize("name", BY_SIZE)
def test_a_hand_file_says_what_is_an_estimate(name):
    text = (HANDS / f"{name}.toml").read_text()
    assert "(estimate)" in read_included(HANDS / f"{name}.toml", Hand, "hand").model.name
    assert "common practice, no source" in text
    assert ("ANSUR II" in text) == (name != "child-about-11")


@pytest.mark.parametrize("name", BY_SIZE)
def test_adult_hand_files_start_from_the_survey(name):
    # ANSUR II 2012, hand length: women's 5th percentile 165 and median 180, men's median 193 and 95th percentile 210;
    # the median adult lies halfway, 186.5. The child's 158 is from memory.
    expected = {"child-about-11": 158, "small-adult": 165, "median-adult": (180 + 193) // 2, "large-adult": 210}
    hand = read_included(HANDS / f"{name}.toml", Hand, "hand").model
    assert (hand.left.hand_length_mm, hand.right.hand_length_mm) == (expected[name], expected[name])


BROKEN = {
    "a misspelt key": ("spacing_min = 16", "spacing_min: there is no such key; did you mean 'spacing_min_mm'?"),
    "a misspelt pair": (
        "[left]\nindex_midle_mm = [20, 30]",
        "left.index_midle_mm: there is no such key; did you mean 'index_middle_mm'?",
    ),
    "the wrong way round": (
        "[left]\nring_little_mm = [30, 23]",
        "left.ring_little_mm: low <= high must hold, but got [30, 23]; swap the two numbers",
    ),
    "a maximum below the limit": (
        "[right]\nring_little_mm = [20, 30, 28]",
        "right.ring_little_mm: low <= high must hold, but got [20, 30, 28]; swap the two numbers",
    ),
    "one number for a pair": (
        "[left]\nindex_ring_mm = 50",
        "left.index_ring_mm: must be [comfortable, working limit] or these and the maximum, but got 50",
    ),
    "a pair in centimetres": (
        "[left]\nindex_ring_mm = [0, 5]",
        "left.index_ring_mm: must hold distances between 0 and 400 mm, but got [0, 5]",
    ),
    "a hand length in centimetres": (
        "[left]\nhand_length_mm = 15.8",
        "left.hand_length_mm: must be at least 80, but got 15.8",
    ),
    "a span in words": (
        "[left]\nspan_index_little_mm = 'wide'",
        "left.span_index_little_mm: must be a number, but got 'wide'",
    ),
    "a hand that is no table": ("left = 3", "left: must be a table, but got 3"),
    "shares the wrong way round": (
        "[model]\ncomfortable_share = 0.9",
        "model: comfortable_share <= working_share <= 1 must hold, but got 0.9 and 0.8",
    ),
    "more scatter than all": (
        "[model]\npair_sd_percent = 120",
        "model.pair_sd_percent: must be at most 100, but got 120",
    ),
    "a hole to seal of no size": ("seal_diameter_max_mm = 0", "seal_diameter_max_mm: must be more than 0, but got 0"),
}


@pytest.mark.parametrize(("text", "sentence"), BROKEN.values(), ids=list(BROKEN))
def test_a_broken_hand_file_says_what_to_mend(text, sentence, tmp_path):
    path = tmp_path / "hand.toml"
    path.write_text(text)
    with pytest.raises(IncludedError) as caught:
        read_included(path, Hand, "hand")
    assert caught.value.problems == [f"{path}: {sentence}"]


def test_every_problem_of_a_hand_file_at_once(tmp_path):
    path = tmp_path / "hand.toml"
    path.write_text("colour = 3\nspacing_min_mm = -1\n[left]\nhand_length_mm = 1\n")
    with pytest.raises(IncludedError) as caught:
        read_included(path, Hand, "hand")
    assert len(caught.value.problems) == 3


@pytest.mark.parametrize(
    ("name", "content", "sentence"),
    [
        ("none.toml", None, "there is no hand file {path}"),
        ("folder", "folder", "{path} is a folder; name a hand file in it"),
        ("binary.toml", b"\xff\xfe\x00", "{path} is not a text file; a hand file is TOML text in UTF-8"),
        ("project.toml", PIPE.encode(), "{path} is a project file; name a file that holds a hand alone"),
        ("torn.toml", b"left = [", "{path}: not valid TOML: Invalid value (at end of document)"),
    ],
)
def test_a_file_that_is_no_hand_says_so(name, content, sentence, tmp_path):
    path = tmp_path / name
    if content == "folder":
        path.mkdir()
    elif content is not None:
        path.write_bytes(content)
    with pytest.raises(IncludedError) as caught:
        read_included(path, Hand, "hand")
    assert caught.value.problems == [sentence.format(path=path)]


def test_the_readmes_hand_file_is_one(tmp_path):
    readme = (HANDS.parent.parent / "README.md").read_text()
    block = next(part for part in readme.split("```toml\n")[1:] if part.startswith("name = "))
    path = tmp_path / "hand.toml"
    path.write_text(block.split("```")[0])
    hand = read_included(path, Hand, "hand").model
    assert pair_limits(hand, "L")["index_middle"].basis == "gauged"
    assert pair_limits(hand, "R")["index_middle"].basis == "span index to little"


# a project and a hand file


SMALL = 'name = "Ida\'s \\"small\\" hand"\nseal_diameter_max_mm = 9.5\n[left]\nindex_middle_mm = [20, 26]\n'
OWN_HANDS = {
    "none": "",
    "a table": "\n[hand]\nname = 'own'\nleft = { index_middle_mm = [24, 30] }\n",
    "tables": "\n[hand]\nname = 'own'\n\n# a comment\n[hand.left]\nindex_middle_mm = [24, 30]\n\n[search]\nseed = 7\n",
    "words with a bracket": '\n[hand]\nname = """\n[a bracket\n"""\n[search]\nseed = 7\n',
    "tables apart": "\n[hand.left]\nhand_length_mm = 150\n[search]\nseed = 7\n[hand.model]\npair_sd_percent = 9\n",
    "lists over lines": "\n[hand.left]\nindex_middle_mm = [\n  24,\n  30,\n]\n[search]\nseed = 7\n",
}


def hand_file(tmp_path, text=SMALL):
    path = tmp_path / "hands" / "ida.toml"
    path.parent.mkdir()
    path.write_text(text)
    return path


@pytest.mark.parametrize("own", OWN_HANDS.values(), ids=list(OWN_HANDS))
def test_another_hand_replaces_the_projects_own_and_nothing_else(own, tmp_path):
    path = tmp_path / "pipe.toml"
    path.write_text(PIPE + own)
    before, after = load_project(path), load_project(path, hand_file(tmp_path))
    assert after.project.hand.name == 'Ida\'s "small" hand'
    assert pair_limits(after.project.hand, "L")["index_middle"][:2] == (20.0, 26.0)
    assert after.project.model_copy(update={"hand": before.project.hand}) == before.project


def test_the_text_kept_of_a_project_needs_no_hand_file(tmp_path):
    # What run.json holds and workers parse: the text alone, after the hand file is gone.
    path, hand = tmp_path / "pipe.toml", hand_file(tmp_path)
    path.write_text(f'hand = "hands/ida.toml"  # the player\n{PIPE}')
    loaded = load_project(path)
    hand.unlink()
    again = parse_project(loaded.text, "pipe.toml")
    assert again.project == loaded.project
    assert again.project.hand.seal_diameter_max_mm == 9.5
    assert PIPE.strip() in loaded.text
    assert parse_project(again.text, "pipe.toml").text == again.text


def test_a_text_without_its_folder_cannot_name_a_hand_file():
    with pytest.raises(ProjectError) as caught:
        parse_project(f'hand = "hands/ida.toml"\n{PIPE}', "pipe.toml")
    assert caught.value.problems == ["hand: the file 'hands/ida.toml' is out of reach here; write its [hand] table"]


def test_a_project_names_a_hand_file_that_is_not_there(tmp_path):
    path = tmp_path / "pipe.toml"
    path.write_text(f'hand = "hands/ida.toml"\n{PIPE}')
    with pytest.raises(ProjectError) as caught:
        load_project(path)
    assert caught.value.problems == [f"there is no hand file {tmp_path / 'hands' / 'ida.toml'}"]


def test_a_hand_file_may_hold_the_table_itself(tmp_path):
    path = tmp_path / "hand.toml"
    path.write_text("[hand]\nname = 'a'\n[hand.left]\nhand_length_mm = 150\n")
    assert read_included(path, Hand, "hand").model.left.hand_length_mm == 150.0


def test_a_day_may_be_written_as_a_date(tmp_path):
    path = tmp_path / "hand.toml"
    path.write_text("gauged_on = 2026-11-02\n[left]\nindex_middle_mm = [20, 26]\n")
    file = read_included(path, Hand, "hand")
    assert file.model.gauged_on == "2026-11-02"
    assert parse_project(taken_in(PIPE, file), "a").project.hand == file.model


@pytest.mark.parametrize("project", sorted((HANDS.parent).glob("*.toml")), ids=lambda path: path.stem)
@pytest.mark.parametrize("name", BY_SIZE)
def test_every_demo_takes_every_hand(project, name):
    found = load_project(project, HANDS / f"{name}.toml").project
    assert found.hand == read_included(HANDS / f"{name}.toml", Hand, "hand").model


def test_values_in_force_show_every_figure_and_its_standing():
    shown = values_in_force(parse_project(PIPE, "pipe.toml").project)
    for name in Hand().model.model_dump():
        assert f"hand.model.{name} = " in shown
    assert "hand.model.working_share = 0.8  # of the maximum; rule of thumb, no source" in shown
    # 31 / 0.8 = 38.75; 20 % of 31 = 6.2
    assert "left index-middle: 25.0 / 31.0 / 38.8 +- 6.2, assumed" in shown


# limits that no choice can meet


def test_four_fingers_need_their_room():
    # index to little: 0.8 x 0.92 x 60 = 44.16 mm, but four fingers 17 mm apart need 51.
    fingers = changed('g1 = { by = "R1"', 'g1 = { by = "L4"', PIPE).replace("L123 R1", "L1234")
    text = fingers + "\n[hand]\nleft = { span_index_little_mm = 60, index_ring_mm = [40, 50] }\n"
    with pytest.raises(ProjectError) as caught:
        parse_project(text, "pipe.toml")
    assert (
        "hand: L1, L2, L3 and L4 need 3 x 17 = 51 mm, but hand.left.index_little_mm allows 44.16; raise that, or lower "
        "hand.spacing_min_mm to 14.72"
    ) in caught.value.problems


@pytest.mark.parametrize(("turn", "off"), [(60, 60), (-90, 90), (300, 60), (-250, 110)])
def test_a_thumb_hole_in_front_is_refused(turn, off):
    text = KEYED.replace("azimuth_deg = 180", f"azimuth_deg = {turn}")
    with pytest.raises(ProjectError) as caught:
        parse_project(text, "pipe.toml")
    assert caught.value.problems == [
        f"holes.h7.azimuth_deg: the thumb lies opposite the fingers, at least 120 degrees round from h6, but this is "
        f"{off}; turn it, or lower hand.thumb_opposite_min_deg"
    ]


def test_scatters_add_as_squares():
    found = left("[left]\nhand_length_mm = 165")["index_middle"]
    assert found.sd_mm / found.working_mm == pytest.approx(math.sqrt(0.08**2 + 0.08**2 + 0.11**2))
