"""Holes read out of round faces: faces made by hand, as the CAD kernel tells them, whichever way their axes run."""

from math import cos, radians, sin

import pytest

from optimizer.handoff.step.read_back import HoleFigures, RoundFace, off_by

WANTED = HoleFigures("h1", 60.0, 40.0, 14.0, 8.0, 8.0)


def face(z=60.0, azimuth=40.0, heights=(6.0, 14.0), radii=(4.0, 4.0), start=0.0, back=False, hollow=True, aside=0.0):
    """A face of a hole: its axis told from a height on it, running outward or back."""
    x, y, way = cos(radians(azimuth)), sin(radians(azimuth)), -1.0 if back else 1.0
    ends = [(way * (height - start), radius) for height, radius in zip(heights, radii, strict=True)]
    (low, first), (high, last) = sorted(ends)
    return RoundFace(
        hollow, (start * x - aside * y, start * y + aside * x, z), (way * x, way * y, 0.0), (low, high), (first, last)
    )


def off(*faces, wanted=WANTED):
    return off_by(faces, [wanted])[wanted.id]


@pytest.mark.parametrize("start", [0.0, 20.0, -3.0])
@pytest.mark.parametrize("back", [False, True])
def test_a_hole_is_read_however_its_axis_runs(start, back):
    assert off(face(start=start, back=back)) == pytest.approx((0.0, 0.0, 0.0), abs=1e-12)


def test_what_is_off_is_told_in_millimetres():
    assert off(face(radii=(4.0, 4.01))).diameter_mm == pytest.approx(0.02)
    assert off(face(z=60.03)).place_mm == pytest.approx(0.03)
    assert off(face(azimuth=41.0)).round_mm == pytest.approx(14.0 * radians(1.0))
    assert off(face(aside=0.02)).round_mm == pytest.approx(0.02, rel=1e-3)
    assert off(face(z=60.03, radii=(4.0, 4.01))).most_mm == pytest.approx(0.03)


def test_an_azimuth_is_the_same_a_turn_further():
    assert off(face(), wanted=WANTED._replace(azimuth_deg=400.0)).round_mm == pytest.approx(0.0, abs=1e-12)
    opposite = face(azimuth=180.0)
    assert off(opposite, wanted=WANTED._replace(azimuth_deg=-180.0)).round_mm == pytest.approx(0.0, abs=1e-12)


def test_a_hole_on_the_other_side_of_the_same_axis_is_another():
    assert off(face(azimuth=220.0)) is None
    assert off(face(azimuth=220.0), face()).most_mm == pytest.approx(0.0, abs=1e-12)


def test_an_undercut_hole_is_as_wide_as_its_ends_and_a_sunk_flat_above_it_is_none():
    undercut = WANTED._replace(bore_mm=9.0, mouth_mm=6.0)
    faces = face(heights=(5.0, 8.0), radii=(4.5, 4.5)), face(heights=(8.0, 14.0), radii=(4.5, 3.0))
    pocket = face(heights=(14.0, 18.0), radii=(8.0, 8.0))
    assert off(*faces, pocket, wanted=undercut).most_mm == pytest.approx(0.0, abs=1e-12)
    assert off(pocket, wanted=undercut) is None


def test_what_is_no_hole_is_not_taken_for_one():
    assert off(face(hollow=False)) is None
    along = RoundFace(True, (0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, 120.0), (6.0, 8.0))
    assert off(along) is None
    assert off(face(z=61.0)) is None
