"""A layout whose touches stand in rows, under hands: what is read of its record, drawn, and led out of."""

import pytest
from rows import CONE
from shelf import changed, pipe

from optimizer.analysis.hand_fit import fit, reached_touches, saved_fit
from optimizer.analysis.relief_candidates import reliefs_of
from optimizer.project.hand import Hand, pair_limits
from optimizer.records.layout import saved_numbers
from optimizer.solving.fitting import Fitting
from optimizer.views.drawings.fingers_on_body import hands_svg

LOADED = pipe(CONE)


@pytest.fixture(scope="module")
def record():
    fitting = Fitting(LOADED)
    return fitting.judged([fitting.solve(0)], "cone")


def test_a_solve_keeps_every_limit_of_its_rows(record):
    assert record.violation_mm == 0.0
    assert [(row.hand, row.spacing_mm) for row in record.rows] == [("left", 24.0), ("right", 26.0)]
    assert saved_numbers(record, LOADED.project)["row_mm"] == [row.position_mm for row in record.rows]


def test_the_reach_read_of_a_record_is_the_one_that_was_solved(record):
    found = fit(record, LOADED.project.hand)
    assert found.troubles == []
    assert [pair.pair for pair in found.reach] == ["L1-L2", "L2-L3", "L1-L3", "R1-R2", "R2-R3", "R1-R3"]
    for again, solved in zip(found.reach, record.reach, strict=True):
        assert again.spacing_mm == pytest.approx(solved.spacing_mm, abs=0.011)
    for again, solved in zip(found.touches, reached_touches(record), strict=True):
        assert again[:3] == solved[:3] == ("side", "L4", again.origin)
        assert again.distance_mm == pytest.approx(solved.distance_mm, abs=0.05)
    assert saved_fit(record).touches == reached_touches(record)


def test_a_little_finger_that_does_not_reach_its_touch_is_told(record):
    # 25 mm along, where this hand has 20.
    hand = Hand.model_validate({"left": {"ring_little_mm": [16, 20]}})
    (trouble,) = [line for line in fit(record, hand).troubles if "from L3" in line]
    assert trouble.startswith("L4 must reach 25.0 mm from L3 for the touch of side, 5.0 mm beyond its limit of 20.0")


def test_a_finger_of_a_row_without_a_key_is_told(record):
    (left, right) = record.rows
    assert saved_fit(record).remarks == []
    fingers = [each.model_copy(update={"key": None}) for each in left.fingers[:2]]
    idle = record.model_copy(
        update={"rows": [left.model_copy(update={"fingers": [*fingers, *left.fingers[2:]]}), right]}
    )
    said = "L1 and L2: on no key of the row, so nothing is asked of the reach there"
    assert saved_fit(idle).remarks == [said]
    assert said in fit(idle, LOADED.project.hand).remarks


def test_touches_reached_for_are_drawn_with_their_share_of_the_limit(record):
    # 25 of 30 mm: 83 %.
    drawn = hands_svg(record, fit(record, LOADED.project.hand))
    assert all(f">{words}<" in drawn for words in ("side", "83 %"))
    assert all(f">{name}<" in drawn for name in ("L1", "L2", "L3", "L4", "R1", "R2", "R3"))


def test_a_hands_row_is_a_way_out():
    ways = {way.name: way for way in reliefs_of(["reach.R1-R2", "hand_gap.L3-R1"], LOADED.project)}
    assert {"row.left", "row.right", "spacing.right", "maximum.R1-R2"} <= ways.keys()
    assert ways["row.right"].project.rows.right.position_mm == (680.0, 920.0)  # 20 more at both ends of 700 to 900
    assert ways["spacing.right"].project.rows.right.spacing_mm == pytest.approx(17.5)  # 70 % of 25


def test_a_start_beside_a_layout_without_rows_has_them_in_the_middle(record):
    starts = Fitting(LOADED).starts
    x = starts.beside({**saved_numbers(record, LOADED.project), "row_mm": []}, 0.0, 0)
    assert starts.problem.layout(x).row_mm == pytest.approx([530.0, 800.0])  # of 420 to 640, and of 700 to 900


def test_a_row_without_numbers_is_solved_too():
    loaded = pipe(changed("left = { position_mm = [420, 640], azimuth_deg = -70, spacing_mm = 24 }", "left = {}", CONE))
    assert "row_mm.left" in Fitting(loaded).problem.parametrisation.names


def test_a_touch_beyond_its_finger_has_ways_out():
    # `side` lies 25 along from L3 and lands as far round as L4 does: 20 along, so -5 from where the finger rests.
    ways = {way.name: way for way in reliefs_of(["touch_reach.side-L3"], LOADED.project)}
    assert {"touch.side", "spacing.touches", "maximum.L3-L4"} <= ways.keys()
    assert ways["touch.side"].sentence == "the touch of side 5 mm nearer to L3"
    (side,) = (key for key in ways["touch.side"].project.keys if key.id == "side")
    assert (side.touch_along_mm, side.touch_across_mm) == (-5.0, 0.0)
    assert ways["spacing.touches"].project.keywork.touch_spacing_mm == 11.0
    before, after = (pair_limits(project.hand, "L") for project in (LOADED.project, ways["maximum.L3-L4"].project))
    assert after["ring_little"].working_mm == before["ring_little"].maximum_mm > before["ring_little"].working_mm


def test_a_side_touch_is_drawn_toward_where_its_finger_rests():
    # 30 and 40 from there, a way of 50: 45 are 27 and 36.
    text = changed('side = { touch = "L4"', 'side = { touch = "L1", touch_along_mm = 30, touch_across_mm = 40', CONE)
    ways = {way.name: way for way in reliefs_of(["touch_reach.side-L1"], pipe(text).project)}
    (side,) = (key for key in ways["touch.side"].project.keys if key.id == "side")
    assert (side.touch_along_mm, side.touch_across_mm) == (27.0, 36.0)
    assert not any(name.startswith("maximum") for name in ways)


def test_a_touch_out_of_reach_is_told_once(record):
    far = [each.model_copy(update={"distance_mm": each.limit_mm + 2.0}) for each in record.keys[-1].reach[:1]]
    keys = [*record.keys[:-1], record.keys[-1].model_copy(update={"reach": far})]
    name = f"touch_reach.{record.keys[-1].id}-{far[0].origin}"
    broken = record.binds[0].model_copy(update={"name": name, "margin_mm": -2.0})
    troubles = saved_fit(record.model_copy(update={"keys": keys, "binds": [broken]})).troubles
    assert len(troubles) == 1
    assert "2.0 mm beyond its limit" in troubles[0]
