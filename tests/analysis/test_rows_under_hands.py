"""A layout whose touches stand in rows, under hands: what is read of its record, drawn, and led out of."""

import pytest
from rows import CONE
from shelf import changed, pipe

from optimizer.analysis.hand_fit import fit, reached_touches, saved_fit
from optimizer.analysis.relief_candidates import reliefs_of
from optimizer.project.hand import Hand
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


def test_touches_reached_for_are_drawn_with_their_share_of_the_limit(record):
    # 25 of 30 mm: 83 %.
    drawn = hands_svg(record, fit(record, LOADED.project.hand))
    assert "side 83 %" in drawn
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
