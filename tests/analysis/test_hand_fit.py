"""How a layout lies under a hand: what is said of each pair, and the drawing."""

import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest
from hands_on_layouts import COMFORTABLE, HAND, SVG, placed
from hypothesis import given
from hypothesis import strategies as st

from optimizer.analysis.hand_fit import fit, reach_sentence, saved_fit, strain, verdict
from optimizer.project.hand import Hand
from optimizer.records.layout import ReachRecord
from optimizer.views.drawings.fingers_on_body import hands_svg


def test_a_layout_within_comfort(record):
    found = fit(placed(record, COMFORTABLE), HAND)
    assert {pair.pair: pair.spacing_mm for pair in found.reach} == {"L1-L2": 22.0, "L2-L3": 22.0, "L1-L3": 44.0}
    assert (found.troubles, found.remarks, found.strain_percent, found.beyond_mm) == ([], [], 0.0, 0.0)


def test_which_pair_and_by_how_much(record):
    # L2 to L3 27 + 10 = 37 (limit 28, never above 36), L1 to L3 27 + 37 = 64 (limit 55).
    found = fit(placed(record, (310.0, 232.0, 195.0, 168.0)), HAND)
    assert found.troubles == [
        "L2-L3 must reach 37.0 mm, 9.0 mm beyond the working limit of 28.0 (standard deviation 1.5 mm, by: gauged); "
        "even spread as far as it goes the hand has 36.0",
        "L1-L3 must reach 64.0 mm, 9.0 mm beyond the working limit of 55.0 (standard deviation 1.5 mm, by: gauged)",
    ]
    assert found.beyond_mm == pytest.approx(18.0)
    # Strains: (27 - 24) / 6 = 0.5, (37 - 23) / 5 = 2.8, (64 - 45) / 10 = 1.9; mean square (0.25 + 7.84 + 3.61) / 3.
    assert found.strain_percent == pytest.approx(100 * (11.7 / 3) ** 0.5)


def test_a_finger_round_the_body_reaches_through_the_air(record):
    # 60 degrees round a body 30 mm thick is 15 mm; 20 along: 25.
    found = fit(placed(record, (280.0, 210.0, 188.0, 168.0), L1={"azimuth_deg": 60.0}), HAND)
    assert found.reach[0].spacing_mm == 25.0


TROUBLES = {
    "no room": (
        (280.0, 206.0, 182.0, 168.0), {}, "L1-L2 lie 14.0 mm apart, 3.0 mm less than two fingers need",
    ),
    "crossed fingers": (
        (280.0, 190.0, 212.0, 168.0), {}, "L2-L3 would cross: L2 must lie nearer the reed",
    ),
    "hands that meet": (
        (250.0, 212.0, 190.0, 168.0), {}, "the hands have 38.0 mm between L3 and R1, 7.0 mm less than they need",
    ),
    "a hole too wide": (
        COMFORTABLE, {"L2": {"top_diameter_mm": 10.5}},
        "g3 is 10.5 mm wide, 1.5 mm more than L2 seals; it needs a plate or a smaller hole",
    ),
    "a hole too wide for the ring finger": (
        COMFORTABLE, {"L3": {"top_diameter_mm": 9.0}},
        "g2 is 9.0 mm wide, 1.0 mm more than L3 seals; it needs a plate or a smaller hole",
    ),
    "a thumb too far": (
        COMFORTABLE, {"R1": {"by": "LT", "azimuth_deg": 180.0}},
        "LT lies 112.0 mm from L1 along the body, 92.0 mm too far",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("positions", "changes", "sentence"), TROUBLES.values(), ids=list(TROUBLES))
def test_what_else_is_wrong(positions, changes, sentence, record):
    assert sentence in fit(placed(record, positions, **changes), HAND).troubles


def test_a_plate_needs_no_finger_to_seal(record):
    changes = {"L2": {"top_diameter_mm": 15.0, "cover": "plate"}}
    assert fit(placed(record, COMFORTABLE, **changes), HAND).troubles == []


def test_advice_breaks_no_limit(record):
    # L1 to L2 29 mm: one short of the limit, which is known to 1.5.
    found = fit(placed(record, (280.0, 212.0, 192.0, 163.0), L3={"body_diameter_mm": 43.0}), HAND)
    assert found.troubles == []
    assert found.remarks == [
        "the body is 43 mm thick under L3, more than the 42 mm advised: fingers lie flatter there",
        "L1-L2: nearer to the working limit than it is known; gauge the player before printing",
    ]


def test_the_layouts_own_hand_is_in_its_file(record):
    assert saved_fit(record).troubles == []
    spread = record.reach[0].model_copy(update={"spacing_mm": record.reach[0].working_mm + 2.0})
    found = saved_fit(record.model_copy(update={"reach": [spread]}))
    assert found.troubles == [reach_sentence(spread)]
    assert "2.0 mm beyond the working limit" in found.troubles[0]


def test_other_limits_of_the_hand_come_from_what_binds(record):
    broken = record.binds[0].model_copy(update={"name": "thumb.LT-L1", "margin_mm": -3.0, "sentence": "the thumb ..."})
    found = saved_fit(record.model_copy(update={"binds": [broken]}))
    assert found.troubles == ["thumb.LT-L1: broken by 3.00 mm; must hold: the thumb ..."]


def test_a_file_from_before_maxima_can_be_read():
    old = ReachRecord.model_validate({"pair": "L1-L2", "spacing_mm": 33.0, "comfortable_mm": 25.0, "working_mm": 31.0})
    assert reach_sentence(old) == "L1-L2 must reach 33.0 mm, 2.0 mm beyond the working limit of 31.0"


def test_reach_of_a_saved_layout_is_that_of_the_solver(record):
    # The same geometry by the solver's arrays, for the hand the pipe was made for.
    found = fit(record, Hand())
    assert [pair.pair for pair in found.reach] == [pair.pair for pair in record.reach]
    for mine, solver in zip(found.reach, record.reach, strict=True):
        assert mine.spacing_mm == pytest.approx(solver.spacing_mm, abs=0.011)
        assert mine.model_copy(update={"spacing_mm": solver.spacing_mm}) == solver
    assert found.strain_percent == pytest.approx(record.objectives["stretch"], abs=0.2)


@pytest.mark.parametrize(
    ("spacing", "said"),
    [(24.0, "comfortable"), (24.04, "just comfortable"), (24.1, "strained"), (29.96, "at the limit"),
     (30.0, "at the limit"), (30.1, "OUT OF REACH by 0.1"), (36.5, "OUT OF REACH by 6.5")],
)  # fmt: skip
def test_a_word_on_each_pair(spacing, said):
    assert verdict(ReachRecord(pair="L1-L2", spacing_mm=spacing, comfortable_mm=24, working_mm=30)) == said


@given(st.floats(0, 80))
def test_strain_grows_with_the_spacing(spacing):
    pairs = [ReachRecord(pair="L1-L2", spacing_mm=s, comfortable_mm=24, working_mm=30) for s in (spacing, spacing + 1)]
    assert 0.0 <= strain(pairs[0]) <= strain(pairs[1])
    assert (strain(pairs[0]) > 1.0) == (spacing > 30)


# the drawing


def drawn(text, tag):
    return list(ET.fromstring(text).iter(f"{SVG}{tag}"))


def test_the_drawing_is_to_scale(record):
    layout = placed(record, (280.0, 212.0, 190.0, 168.0))
    text = hands_svg(layout, fit(layout, HAND), HAND)
    sheet = ET.fromstring(text)
    assert (
        sheet.get("viewBox") == f"0 0 {sheet.get('width').removesuffix('mm')} {sheet.get('height').removesuffix('mm')}"
    )
    holes = [circle for circle in drawn(text, "circle") if circle.get("fill") != "none"]
    assert sorted(float(circle.get("r")) for circle in holes) == [3.0] * 4
    places = sorted(float(circle.get("cx")) for circle in holes)
    assert [b - a for a, b in pairwise(places)] == pytest.approx([22.0, 22.0, 68.0])
    scale = next(line for line in drawn(text, "line") if line.get("id") == "scale-50mm")
    assert float(scale.get("x2")) - float(scale.get("x1")) == 50.0


def test_the_drawing_turns_with_the_azimuth(record):
    # Clockwise seen from the reed end is down; 90 degrees are a quarter of the circumference of the bore table's body.
    layout = placed(record, (280.0, 212.0, 190.0, 168.0), R1={"azimuth_deg": 90.0})
    points = record.bore.points_mm
    share = 280.0 / points[-1][0]
    radius = (points[0][1] + share * (points[-1][1] - points[0][1])) / 2 + record.bore.wall_mm
    holes = [c for c in drawn(hands_svg(layout, fit(layout, HAND), HAND), "circle") if c.get("fill") != "none"]
    lowest, other = max(float(c.get("cy")) for c in holes), min(float(c.get("cy")) for c in holes)
    assert lowest - other == pytest.approx(3.14159265 / 2 * radius, abs=0.01)


def test_the_drawing_marks_what_is_out_of_reach_and_cautions(record):
    layout = placed(record, (310.0, 232.0, 195.0, 168.0))
    text = hands_svg(layout, fit(layout, HAND), HAND)
    words = " ".join(part.text for part in drawn(text, "text"))
    for said in (
        "37.0 over by 9.0",
        "64.0 over by 9.0",
        "27.0 strained",
        "Stop if you feel pain",
        "child's hand grows",
    ):
        assert said in words
    over = [line for line in drawn(text, "line") if line.get("stroke") == "#a3142a"]
    lengths = {round(abs(float(line.get("x2")) - float(line.get("x1")))) for line in over}
    assert {36, 63} <= lengths  # 37 and 64 mm, half a millimetre short at each end


def test_a_layout_without_fingers_is_drawn_all_the_same(record):
    bare = record.model_copy(update={"holes": [hole.model_copy(update={"by": "key"}) for hole in record.holes]})
    found = fit(bare, HAND)
    assert found.reach == []
    assert "<svg" in hands_svg(bare, found, HAND)
