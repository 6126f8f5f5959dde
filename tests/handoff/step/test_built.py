"""Pieces as solids of the CAD kernel: against arithmetic, and where that has no figure against the mesh kernel."""

import math
from dataclasses import replace
from importlib.util import find_spec

import folded
import pytest
from late import late
from places import CONFIGS
from solid_cases import CASES, flat, hole, piece

from optimizer.handoff.meshes.mesh import piece_mesh
from optimizer.handoff.meshes.mesh_checks import surface_of
from optimizer.handoff.shapes.bent import cut_at, extent_mm
from optimizer.handoff.shapes.drawing import drawn
from optimizer.handoff.shapes.shape import Foot, Hole, PieceBend, Socket
from optimizer.handoff.shapes.volume import revolved_mm3, volume_mm3
from optimizer.handoff.step.read_back import off_by
from optimizer.handoff.step.step_checks import recorded_holes, recorded_tubes
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord

pytestmark = pytest.mark.skipif(not find_spec("OCP"), reason="the extra cad is not installed here")


ARITHMETIC, MESH = 1e-5, 2e-4


def sound(solid, holes):
    """Whether the kernel finds one valid solid with so many open holes: a pipe with each is a torus with a handle."""
    return (late.kernel.valid(solid), late.kernel.solids(solid), late.kernel.euler_number(solid)) == (
        True,
        1,
        -2 * holes,
    )


RECEIVER = piece(
    ((0.0, 12.0), (15.0, 12.0), (16.0, 11.0), (120.0, 14.0)),
    ((0.0, 8.2), (13.0, 8.2), (14.0, 7.2), (14.0, 6.2), (120.0, 8.0)),
    [hole(60.0)],
    socket=Socket("crook", 14.0, 16.4, 24.0, 1.0),
)
TWO_FEET = piece(feet=[Foot("k1", 1, 60.0, 90.0, 5.0, 14.0), Foot("k1", 2, 80.0, 90.0, 5.0, 14.5)], holes=[hole(60.0)])
BENT = piece(((0.0, 12.0), (50.0, 12.0), (120.0, 16.0)), tuple((z, 6.0 + (z / 60.0) ** 1.5) for z in range(0, 121, 3)))


@pytest.mark.parametrize(
    ("case", "solid"), [*CASES.items(), ("receiver", RECEIVER), ("two feet", TWO_FEET), ("many lines", BENT)]
)
def test_a_piece_is_one_sound_solid_of_the_volume_that_arithmetic_says(case, solid):
    made = late.built.piece_solid(solid)
    assert sound(made, len(solid.holes)), case
    assert late.kernel.volume_mm3(made) == pytest.approx(volume_mm3(solid), rel=ARITHMETIC)


OVERLAPPING = {
    "seats of unlike height": (hole(60.0), hole(70.0, azimuth=20.0, chimney=8.0, name="h2"), False),
    "seats side by side": (hole(60.0, chimney=8.0), hole(60.0, azimuth=55.0, chimney=8.0, name="h2"), False),
    "a seat over one that is sunk": (hole(60.0, chimney=8.0), hole(72.0, chimney=4.0, name="h2"), True),
}


@pytest.mark.parametrize("case", OVERLAPPING)
def test_seats_that_overlap_are_one_solid_of_the_volume_that_the_mesh_kernel_says(case):
    first, second, sunk = OVERLAPPING[case]
    solid = piece(holes=[first, second], flats=[flat(first), flat(second, sunk=sunk)])
    assert volume_mm3(solid) is None
    made, mesh = late.built.piece_solid(solid), surface_of(piece_mesh(solid))
    assert sound(made, 2)
    assert mesh.euler == -4
    assert late.kernel.volume_mm3(made) == pytest.approx(mesh.volume_mm3, rel=MESH)


def test_the_crook_is_a_tube_with_its_vent():
    crook = drawn(read_record(CONFIGS / "prototypes" / "lantern-tenor.json", LayoutRecord)).crook
    made = late.built.crook_solid(crook)
    assert sound(made, len(crook.holes))
    whole = revolved_mm3(crook.outside) - revolved_mm3(crook.inside)
    drilled = sum(3.2 * each.round_bore_mm**2 * (each.top_mm - each.crown_mm) for each in crook.holes)
    assert whole - drilled < late.kernel.volume_mm3(made) < whole


def test_seat_groove_socket_and_tenon_are_cylinders_of_their_diameters():
    faces = late.kernel.round_faces(late.built.piece_solid(CASES["socket, tenon, groove"]))
    wide = {round(2.0 * radius, 6) for face in faces for radius in face.radii_mm}
    assert {18.0, 22.0, 20.0} <= wide  # socket, tenon, groove
    raised = late.kernel.round_faces(late.built.piece_solid(CASES["raised"]))
    assert [2.0 * face.radii_mm[0] for face in raised if not face.hollow and face.along[2] == pytest.approx(0.0)] == (
        pytest.approx([14.0])
    )


def test_a_hole_that_is_printed_oval_is_drawn_round_with_its_area():
    oval = Hole("h1", "tone", 60.0, 0.0, 7.0, 13.0, (8.16, 8.0), (8.16, 8.0))
    made = late.built.piece_solid(piece(holes=[oval]))
    (bored,) = [face for face in late.kernel.round_faces(made) if face.hollow and abs(face.along[2]) < 1e-9]
    assert bored.radii_mm[0] ** 2 == pytest.approx(0.25 * 8.16 * 8.0)


# folded bodies


def test_a_bend_is_a_part_of_a_torus():
    # A torus has the volume 2 pi^2 R r^2 (any handbook): of a bend, half of it, outside 14 mm less inside 10 mm, with
    # straight ends of 20 and 40 mm.
    bends, end = (PieceBend(20.0, 30.0, 25.0),), 60.0 + 30.0 * math.pi
    lines = [cut_at(((0.0, radius), (end, radius)), bends) for radius in (14.0, 10.0)]
    made = late.built.piece_solid(replace(piece(*lines), bends=bends))
    assert sound(made, 0)
    expected = (14.0**2 - 10.0**2) * (math.pi**2 * 30.0 + math.pi * 60.0)
    assert late.kernel.volume_mm3(made) == pytest.approx(expected, rel=1e-9)
    low, high = late.kernel.bounding_box(made)  # the farther end lies 20 mm below the reed end
    assert (low[2], high[2]) == pytest.approx((-20.0, 20.0 + 30.0 + 14.0), abs=1e-6)


def test_a_bend_that_widens_has_the_volume_of_a_straight_cone_as_long_as_its_centre_line():
    bends, end = (PieceBend(20.0, 30.0, 25.0),), 60.0 + 30.0 * math.pi
    cone, bore = ((0.0, 14.0), (end, 20.0)), ((0.0, 10.0), (end, 16.0))
    made = late.built.piece_solid(replace(piece(cut_at(cone, bends), cut_at(bore, bends)), bends=bends))
    assert sound(made, 0)
    assert late.kernel.volume_mm3(made) == pytest.approx(revolved_mm3(cone) - revolved_mm3(bore), rel=ARITHMETIC)
    low, high = late.kernel.bounding_box(made)
    assert high[2] - low[2] == pytest.approx(extent_mm(cone, bends), abs=0.05)


def test_pieces_of_a_folded_body_have_their_holes_where_the_record_has_them():
    record = folded.solved()
    pieces = drawn(record).pieces
    assert [len(each.bends) for each in pieces] == [1, 1, 0]
    for each in pieces:
        made = late.built.piece_solid(each)
        assert sound(made, len(each.holes))
        assert late.kernel.volume_mm3(made) == pytest.approx(volume_mm3(each), rel=ARITHMETIC)
        faces, wanted = late.kernel.round_faces(made), recorded_holes(record, each)
        assert [hole.id for hole in wanted] == [hole.id for hole in each.holes]
        for off in off_by(faces, wanted, recorded_tubes(record, each)).values():
            assert off.most_mm <= 1e-6


def test_a_hole_that_is_turned_on_a_folded_piece_is_seen():
    record = folded.solved()
    each = next(one for one in drawn(record).pieces if one.bends and one.holes)
    turned = replace(each, holes=(replace(each.holes[0], azimuth_deg=each.holes[0].azimuth_deg + 1.0),))
    faces = late.kernel.round_faces(late.built.piece_solid(turned))
    (wanted,) = (hole for hole in recorded_holes(record, each) if hole.id == each.holes[0].id)
    off = off_by(faces, [wanted], recorded_tubes(record, each))[wanted.id]
    assert off.round_mm == pytest.approx(wanted.top_mm * math.radians(1.0), rel=1e-3)
