"""Meshes against arithmetic, and both against figures that others worked out.

Volumes and Euler numbers of meshes are read by trimesh, which is not what made them.
"""

from math import pi

import numpy as np
import pytest
import scipy
from late import late
from places import CONFIGS
from solid_cases import CASES, flat, hole, piece

from optimizer.handoff.meshes.mesh import COARSE, crook_mesh, equal_area, piece_mesh
from optimizer.handoff.shapes.drawing import drawn, sizing_of
from optimizer.handoff.shapes.volume import revolved_mm3, volume_mm3
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord


@pytest.fixture(scope="module")
def tenor():
    return read_record(CONFIGS / "prototypes" / "lantern-tenor.json", LayoutRecord)


def read(mesh):
    """A mesh as trimesh sees it, left as it is."""
    return late.trimesh.Trimesh(mesh.corners, mesh.triangles, process=False)


@pytest.mark.parametrize("case", CASES)
def test_a_piece_is_one_closed_surface_with_its_holes_and_its_volume(case):
    solid = CASES[case]
    found = read(piece_mesh(solid))
    assert found.is_watertight
    assert found.is_winding_consistent
    assert found.body_count == 1
    # A pipe is a torus; each open hole is one more handle.
    assert found.euler_number == -2 * len(solid.holes)
    assert found.volume == pytest.approx(volume_mm3(solid), rel=1e-5)


@pytest.mark.parametrize("state", ["finished", "printed"])
def test_every_piece_of_the_tenor(tenor, state):
    for solid in drawn(tenor, sizing_of(tenor, state)).pieces:
        found = read(piece_mesh(solid))
        assert (found.is_watertight, found.body_count, found.euler_number) == (True, 1, -2 * len(solid.holes))
        assert found.volume == pytest.approx(volume_mm3(solid), rel=1e-5)


def test_a_coarse_mesh_is_closed_and_as_large(tenor):
    for solid in drawn(tenor).pieces:
        found = read(piece_mesh(solid, COARSE))
        assert (found.is_watertight, found.euler_number) == (True, -2 * len(solid.holes))
        assert found.volume == pytest.approx(volume_mm3(solid), rel=2e-4)
        assert len(found.faces) < 6000


def test_the_crook_is_a_tube_with_its_vent(tenor):
    found = read(crook_mesh(drawn(tenor).crook))
    assert (found.is_watertight, found.euler_number) == (True, -2)


def test_seats_that_overlap_have_no_arithmetic_and_a_closed_mesh():
    first, second = hole(60.0), hole(70.0, azimuth=20.0, chimney=8.0, name="h2")
    solid = piece(holes=[first, second], flats=[flat(first), flat(second)])
    assert volume_mm3(solid) is None
    found = read(piece_mesh(solid))
    assert (found.is_watertight, found.euler_number, found.body_count) == (True, -4, 1)


# arithmetic against what others worked out


def test_a_frustum_has_the_volume_of_the_handbook():
    # Bronshtein & Semendyayev, Handbook of Mathematics, frustum of a cone: pi h / 3 (R^2 + R r + r^2).
    assert revolved_mm3(((0.0, 3.0), (10.0, 5.0))) == pytest.approx(pi * 10.0 / 3.0 * (25.0 + 15.0 + 9.0))


def test_two_pipes_that_cross_share_what_archimedes_found():
    # The solid common to two cylinders of one radius holds 16 r^3 / 3 (Archimedes, The Method, prologue). A hole as
    # wide as the body, if it went on to the axis, would take half of that from a bar; the bore here is a thread.
    radius, thread = 10.0, 1e-6
    bar, pipe = ((0.0, radius), (60.0, radius)), ((0.0, thread), (60.0, thread))
    made = hole(30.0, wide=2.0 * radius - 1e-9)
    solid = piece(bar, pipe, [made])
    gone = revolved_mm3(bar) - revolved_mm3(pipe) - volume_mm3(solid)
    assert gone == pytest.approx(16.0 * radius**3 / 6.0, rel=2e-4)


def test_a_hole_takes_what_double_integration_says():
    # scipy.integrate.dblquad over the round hole, in other coordinates and by another rule.
    made = hole(60.0, wide=9.0, mouth=9.0, chimney=8.0)
    solid = piece(holes=[made], flats=[flat(made)])
    without = piece(flats=[flat(made)])

    def high(v, u):
        return made.top_mm - np.sqrt((6.0 + (60.0 + u) / 60.0) ** 2 - v * v)

    wanted, _ = scipy.integrate.dblquad(
        high, -4.5, 4.5, lambda u: -np.sqrt(20.25 - u * u), lambda u: np.sqrt(20.25 - u * u)
    )
    assert volume_mm3(without) - volume_mm3(solid) == pytest.approx(wanted, rel=1e-6)


# fineness


def test_polygons_have_the_area_of_their_circles():
    corners = 7
    radius = equal_area(corners)
    assert 0.5 * corners * radius**2 * np.sin(2.0 * pi / corners) == pytest.approx(pi)


def test_surfaces_lie_within_hundredths_of_the_circle():
    # Sagitta of an n-gon r (1 - cos(pi / n)), here shared between corner and chord: 0.002 mm at 14 mm and 256 corners.
    found = read(piece_mesh(CASES["plain"]))
    mouth = found.vertices[np.abs(found.vertices[:, 2] - 120.0) < 1e-6][:, :2]
    radii = np.hypot(*mouth.T)
    wide = radii[radii > 10.0]
    assert np.abs(wide - 14.0).max() < 0.002
    assert np.abs(radii[radii < 10.0] - 8.0).max() < 0.002
