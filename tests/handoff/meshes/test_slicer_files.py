"""Files for the slicer, read back by readers that did not write them: trimesh, and the 3MF Consortium's own library."""

import io
from dataclasses import replace

import lib3mf
import numpy as np
import pytest
from late import late
from places import CONFIGS
from solid_cases import CASES, flat, hole, piece

from optimizer.handoff.meshes.laid import laid
from optimizer.handoff.meshes.mesh import Mesh, piece_mesh, snapped
from optimizer.handoff.meshes.mesh_checks import checked, surface_of
from optimizer.handoff.meshes.slicer_files import slicer_files, title_of
from optimizer.handoff.shapes.drawing import drawn, sizing_of
from optimizer.project.faults import Fault
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord


@pytest.fixture(scope="module")
def tenor():
    return read_record(CONFIGS / "prototypes" / "lantern-tenor.json", LayoutRecord)


@pytest.fixture(scope="module")
def drawing(tenor):
    return drawn(tenor, sizing_of(tenor, "printed"))


@pytest.fixture(scope="module")
def files(drawing, tenor):
    return slicer_files(drawing, tenor.printing)


def alone(drawing, place):
    """A drawing of one of its pieces."""
    return replace(drawing, pieces=drawing.pieces[place : place + 1])


def read(file):
    """A file as trimesh reads it."""
    return late.trimesh.load_mesh(io.BytesIO(file.content), file_type=file.name.rpartition(".")[2])


def test_every_piece_has_a_file_of_each_kind(files):
    assert [file.name for file in files] == [
        f"piece-{n}-printed.{kind}" for n in (1, 2, 3, 4) for kind in ("stl", "3mf")
    ]


def test_files_are_closed_solids_of_the_arithmetic_volume(files):
    for file in files:
        found = read(file)
        assert found.is_watertight
        assert (found.body_count, found.euler_number) == (1, -2 * len(file.checked.piece.holes))
        assert found.volume == pytest.approx(file.checked.arithmetic_mm3, rel=2e-4)
        assert not np.any(late.trimesh.triangles.area(found.triangles) == 0.0)


def test_the_consortiums_reader_takes_every_3mf_without_a_warning(files):
    for file in (each for each in files if each.name.endswith("3mf")):
        model = lib3mf.get_wrapper().CreateModel()
        reader = model.QueryReader("3mf")
        reader.SetStrictModeActive(True)
        reader.ReadFromBuffer(file.content)
        assert reader.GetWarningCount() == 0
        assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
        (mesh,) = [model.GetMeshObjectByID(1)]
        assert mesh.IsManifoldAndOriented()
        assert mesh.GetName().startswith(file.checked.piece.name)


def test_a_file_says_what_it_is(files, tenor):
    assert files[0].content[:80].startswith(b"piece 1 of 4, printed, enlarged x 1.0030, slice at 100 %; standing")
    sizing = replace(drawn(tenor).sizing, along=1.01, across=1.02, state="printed")
    sized = drawn(tenor, sizing)
    assert "enlarged x 1.0100 along, x 1.0200 across" in title_of(sized, sized.pieces[0], None)


def test_two_exports_are_the_same(files, tenor):
    again = slicer_files(alone(drawn(tenor, sizing_of(tenor, "printed")), 0), tenor.printing)
    assert [file.content for file in again] == [file.content for file in files[:2]]


def test_pieces_stand_on_the_bed_in_its_middle(files, tenor):
    for file in files:
        low, high = read(file).bounds
        assert low[2] == pytest.approx(0.0, abs=1e-6)
        assert 0.5 * (low + high)[:2] == pytest.approx((128.0, 128.0), abs=1e-3)
        assert high[2] == pytest.approx(file.checked.piece.length_mm, abs=1e-3)
        assert np.all(high - low <= np.array(tenor.printing.bed_mm) - tenor.printing.margin_mm)


def area_on_the_bed(mesh):
    """How much of a mesh lies on the bed [mm2]."""
    corners = mesh.triangles
    on = np.all(np.abs(corners[:, :, 2]) < 1e-6, axis=1)
    return late.trimesh.triangles.area(corners[on]).sum()


def test_the_end_that_goes_down_is_the_one_that_is_said(files):
    for file in files[::2]:
        solid = file.checked.piece
        out, into = (solid.outside[0][1], solid.inside[0][1]) if solid.down == "reed" else (
            solid.outside[-1][1], solid.inside[-1][1])  # fmt: skip
        assert area_on_the_bed(read(file)) == pytest.approx(np.pi * (out**2 - into**2), rel=1e-4)


@pytest.mark.parametrize(("bed", "axis"), [((300.0, 200.0, 100.0), 0), ((200.0, 300.0, 100.0), 1)])
def test_a_lying_piece_has_its_front_up_and_keeps_its_hand(tenor, bed, axis):
    printing = tenor.printing.model_copy(update={"bed_mm": bed, "orientation": "lying"})
    front, side = hole(40.0), hole(60.0, azimuth=90.0, name="h2")
    solid = piece(holes=[front, side], flats=[replace(flat(front), top_mm=30.0), replace(flat(side), top_mm=20.0)])
    found = laid(piece_mesh(solid), solid, printing)
    assert surface_of(found).volume_mm3 > 0.0  # no mirror image
    assert np.ptp(found.corners, axis=0)[axis] == pytest.approx(120.0)
    # The front's flat stands highest; that at 90 degrees to one side only.
    assert found.corners[:, 2].max() == pytest.approx(found.corners[:, 2].min() + 30.0 + 14.0, abs=0.01)


# what is refused


def test_a_surface_that_is_open_is_told():
    mesh = piece_mesh(CASES["drilled"])
    found = checked(CASES["drilled"], Mesh(mesh.corners, mesh.triangles[1:]), None)
    assert "not closed" in found.problems[0]


def test_a_body_in_two_parts_is_told():
    solid = CASES["plain"]
    mesh = piece_mesh(solid)
    both = snapped(
        np.concatenate([mesh.corners, mesh.corners + 100.0]),
        np.concatenate([mesh.triangles, mesh.triangles + len(mesh.corners)]),
    )
    assert "2 bodies" in checked(solid, both, None).problems[0]
    # A corner of no triangle is no body.
    alone = Mesh(np.concatenate([mesh.corners, [[0.0, 0.0, 500.0]]]), mesh.triangles)
    assert surface_of(alone).bodies == 1


def test_two_holes_that_run_into_each_other_are_told():
    solid = piece(holes=[hole(60.0), hole(65.0, name="h2")])
    found = checked(solid, piece_mesh(solid), None)
    assert any("run into each other" in said for said in found.problems)
    assert found.thinnest.where == "between holes h1 and h2"
    assert found.thinnest.mm == pytest.approx(-3.0)


def test_a_mesh_of_other_volume_is_told():
    solid = CASES["drilled"]
    mesh = piece_mesh(solid)
    found = checked(solid, Mesh(1.001 * mesh.corners, mesh.triangles), None)
    assert found.off == pytest.approx(0.003, rel=0.01)
    assert "more volume than arithmetic says" in found.problems[0]


def test_a_piece_that_is_longer_than_the_bed_is_not_written(drawing, tenor):
    small = tenor.printing.model_copy(update={"bed_mm": (256.0, 256.0, 200.0)})
    with pytest.raises(Fault, match=r"piece 2 is 202\.6 mm along the printer's z, and the bed leaves 190\.0 mm"):
        slicer_files(alone(drawing, 1), small)


# walls


@pytest.mark.parametrize(
    ("case", "mm", "where"),
    [
        # A cone's wall 6 mm across is thinner square to it: 6 / sqrt(1 + 1/60^2).
        ("plain", 6.0 / np.sqrt(1.0 + 1.0 / 3600.0), "mm from the reed end"),
        ("sunk", 4.0 - 6.0 / 60.0, "under the flat"),
        ("raised", 3.0, "the rim"),
        ("tube", 1.4, "the rim"),
        ("socket, tenon, groove", 9.0 - 8.0, "120.0 mm from the reed end"),
    ],
)
def test_the_thinnest_wall_is_found(case, mm, where):
    found = checked(CASES[case], piece_mesh(CASES[case]), None).thinnest
    assert found.mm == pytest.approx(mm, abs=2e-3)
    assert where in found.where
