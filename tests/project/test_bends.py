"""Folded bodies as a project says them: tubes and depths by arithmetic, and what cannot be, in sentences."""

import math

import pytest
from folded import BEND, FOLDED, SECOND, THIRD, refolded

from optimizer.project.bends import depth_at, depth_span, down_at, straight_spans, tubes_of
from optimizer.project.loading import ProjectError, parse_project


@pytest.fixture(scope="module")
def bends():
    return parse_project(FOLDED, "fold pipe").project.bends


def test_three_tubes_run_down_up_and_down(bends):
    first, second, third = tubes_of(bends)
    assert first == (0.0, 500.0, 1, 0.0, 0.0, 0.0)
    assert second == pytest.approx((SECOND, SECOND + 400.0, -1, 500.0, 0.0, 60.0))
    assert third == pytest.approx((THIRD, math.inf, 1, 100.0, 60.0, 60.0))


@pytest.mark.parametrize(
    ("place", "depth"),
    [
        (120.0, 120.0),
        (500.0 + BEND / 2.0, 530.0),  # lowest: the radius below where the bend begins
        (SECOND + 150.0, 350.0),  # up again: 500 - 150
        (SECOND + 400.0 + BEND / 6.0, 85.0),  # a third of the way to the top: 100 - 30 sin 30 degrees
        (THIRD + 40.0, 140.0),
    ],
)
def test_depth_along_the_centre_line(bends, place, depth):
    assert depth_at(bends, place) == pytest.approx(depth)


def test_ranges_in_depth(bends):
    assert depth_span(bends, 450.0, SECOND + 20.0) == pytest.approx((450.0, 530.0))
    assert depth_span(bends, SECOND + 20.0, SECOND + 50.0) == pytest.approx((450.0, 480.0))
    assert [down_at(bends, place) for place in (10.0, SECOND + 1.0, THIRD + 1.0)] == [1, -1, 1]
    assert straight_spans(bends, 480.0, THIRD + 10.0, 5.0) == [
        pytest.approx(span) for span in ((480.0, 495.0), (SECOND + 5.0, SECOND + 395.0), (THIRD + 5.0, THIRD + 10.0))
    ]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            "radius_mm = 30, toward_deg = 90",
            "radius_mm = 12, toward_deg = 90",
            "bends.low.radius_mm: must be at least 14, half of what the body is thick there, but got 12; a tighter "
            "bend folds into itself",
        ),
        (
            "toward_deg = 0",
            "toward_deg = -90",
            "bends.high: the body runs into itself: at 100 and 1088 mm along it the middles are 0 mm apart, and the "
            "walls need 28; take a wider radius_mm, another toward_deg, or a narrower bore",
        ),
        (
            "low = { at_mm = 500",
            "low = { at_mm = 950",
            "bends.high.at_mm: must lie beyond bend low, which ends at 1044, but got 994.248; bends are listed from "
            "the reed, with a straight tube between any two",
        ),
        (
            "position_mm = [700, 900]",
            "position_mm = [400, 900]",
            "holes.h2.position_mm: [400, 900] reaches over bend low, from 500 to 594.2; nothing stands on a bend, so "
            "keep it to one of the straight tubes",
        ),
        (
            "position_mm = [700, 900]",
            "position_mm = 550",
            "holes.h2.position_mm: 550 lies in bend low, from 500 to 594.2; nothing stands on a bend, so keep it to "
            "one of the straight tubes",
        ),
        (
            "position_mm = [620, 760], ",
            "",
            "rows.right.position_mm: a folded body needs the row's place: write [low, high] on one of the tubes",
        ),
        (
            "points_mm = [[0, 20.0], [1500, 20.0]]",
            "points_mm = [[0, 20.0], [1000, 20.0], [1500, 90.0]]",
            None,
        ),
        (
            "points_mm = [[0, 20.0], [1500, 20.0]]",
            "points_mm = [[0, 20.0], [1200, 20.0], [1300, 50.0]]\nend_mm = 1500",  # 110 mm wide there
            None,
        ),
    ],
)
def test_what_cannot_be_is_said(old, new, said):
    with pytest.raises(ProjectError) as told:
        parse_project(refolded(old, new), "fold pipe")
    sentences = [finding.sentence for finding in told.value.findings]
    if said is None:  # a cone whose third tube grows into the second
        assert sentences[0].startswith("bends.high: the body runs into itself: at ")
    else:
        assert said in sentences
