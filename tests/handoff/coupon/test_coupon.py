"""The test coupon as files: read back by trimesh, held against arithmetic, and its table filled in and read."""

import csv
import io
import itertools
import math
from contextlib import redirect_stdout

import numpy as np
import pypdfium2
import pytest
from commanded import told
from late import late
from places import CONFIGS, TENOR
from shelf import changed, pipe

from optimizer.commands.cli import main
from optimizer.handoff.coupon import coupon_files
from optimizer.handoff.coupon.coupon_files import coupon_table
from optimizer.handoff.coupon.coupon_shape import BORES_MM, CLEARANCES_MM, OUTSIDES_MM, coupon_of
from optimizer.handoff.shapes.drawing import drawn, sizing_of
from optimizer.handoff.step.kernel_process import ABSENT
from optimizer.project.faults import Fault
from optimizer.project.included import read_included
from optimizer.project.loading import load_project
from optimizer.project.printer import Printer
from optimizer.prototype.coupon_figures import coupon_record
from optimizer.prototype.coupon_readings import read_coupons
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord

READINGS = CONFIGS / "printers" / "lantern-hall-coupon.csv"


@pytest.fixture(scope="module")
def tenor():
    return coupon_of(load_project(TENOR).project)


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """The tenor's coupon as the command writes it: where, and what it said."""
    folder, said = tmp_path_factory.mktemp("coupon") / "coupon", io.StringIO()
    with pytest.MonkeyPatch.context() as here, redirect_stdout(said):
        here.setattr(coupon_files, "kernel_lacking", lambda: ABSENT)  # STEP: see the service's
        assert main(["coupon", str(TENOR), "--to", str(folder), "--prints", "2"]) == 0
    return folder, said.getvalue()


@pytest.fixture(scope="module")
def read_back(written):
    """Each of its pieces by its file's name, as trimesh reads it."""
    return {path.name: late.trimesh.load_mesh(path) for path in sorted(written[0].glob("*.stl"))}


def ring_mm3(outer, inner, high):
    return math.pi / 4.0 * (outer**2 - inner**2) * high


def hole_mm3(wide, inner, outer, raised=None):
    """What a hole across a wall between two radii takes away, by the midpoint rule over its disc."""
    steps = (np.arange(400) + 0.5) / 400.0 * wide - 0.5 * wide
    v = steps[:, None] * np.ones(400)
    inside = v**2 + steps[None, :] ** 2 < 0.25 * wide**2
    top = np.sqrt(outer**2 - v**2) if raised is None else raised
    return float(np.sum((top - np.sqrt(inner**2 - v**2)) * inside) * (wide / 400.0) ** 2)


def test_every_piece_is_one_closed_solid_with_the_holes_it_should_have(tenor, read_back):
    assert list(read_back) == ["pipe.stl", "sleeve.stl", "steps.stl"]
    holes = sum(part.what in ("hole", "seat") for part in tenor.parts)
    for (file, mesh), euler in zip(read_back.items(), (-2 * holes, 0, 0), strict=True):
        assert mesh.is_watertight, file
        assert (mesh.body_count, mesh.euler_number) == (1, euler), file


def test_volumes_are_those_of_arithmetic(tenor, read_back):
    found = read_back
    tall = 30.0 / len(OUTSIDES_MM)
    steps = sum(ring_mm3(wide, 0.0, tall) for wide in OUTSIDES_MM) - sum(ring_mm3(wide, 0.0, 6.0) for wide in BORES_MM)
    steps -= ring_mm3(60.0, 0.0, 0.5) - math.pi / 3.0 * 0.5 * (30.0**2 + 30.0 * 29.5 + 29.5**2)
    assert found["steps.stl"].volume == pytest.approx(steps, rel=2e-4)
    # The pipe without holes by its frusta; then the holes, one by one, and the seat's rim.
    pipe_ = tenor.drawing.pieces[0]
    frusta = [
        sign * math.pi / 3.0 * (z1 - z0) * (r0 * r0 + r0 * r1 + r1 * r1)
        for sign, line in ((1.0, pipe_.outside), (-1.0, pipe_.inside))
        for (z0, r0), (z1, r1) in itertools.pairwise(line)
    ]
    bore, outside = 0.5 * 21.5, 0.5 * 29.5
    assert (pipe_.inside[0][1], pipe_.outside[2][1]) == (bore, outside)
    volume = sum(frusta)
    for hole in pipe_.holes[:-1]:
        volume -= hole_mm3(hole.bore_mm[0], bore, outside)
    (flat,), seat = pipe_.flats, pipe_.holes[-1]
    volume += hole_mm3(flat.diameter_mm, outside, outside, raised=flat.top_mm)
    volume -= hole_mm3(seat.bore_mm[0], bore, outside, raised=flat.top_mm)
    assert found["pipe.stl"].volume == pytest.approx(volume, rel=2e-4)


def test_what_is_told_of_the_pieces_is_on_them(tenor, read_back):
    pipe_, sleeve, _ = tenor.drawing.pieces
    by_mark = {part.where: part for part in tenor.parts}
    assert len(by_mark) == len(tenor.parts)
    tenon = by_mark["o-tenon"].drawn_mm
    radii = [radius for _, radius in sleeve.inside]
    clear = [2.0 * radius - tenon for radius in radii[2::2]]
    assert clear == pytest.approx([2.0 * each for each in CLEARANCES_MM])
    depths = {round(0.5 * tenon - radius, 3) for z, radius in pipe_.outside if z > by_mark["g1"].z_mm - 2.0}
    assert {part.drawn_mm for part in tenor.parts if part.what == "groove"} <= depths
    assert {hole.id for hole in pipe_.holes} == {p.where for p in tenor.parts if p.what in ("hole", "seat")}
    assert by_mark["l130"].drawn_mm == pytest.approx(read_back["pipe.stl"].extents[2], abs=1e-3)
    assert read_back["steps.stl"].extents[0] == pytest.approx(60.0, abs=0.01)


def level_below(mesh, high):
    """Area of what looks down by more than 45 degrees between the bed and a height [mm2]."""
    heights = mesh.triangles_center[:, 2]
    return float(mesh.area_faces[(mesh.face_normals[:, 2] < -0.71) & (heights > 0.01) & (heights < high)].sum())


def test_bodies_need_no_support(tenor, read_back):
    # The collar, the steps; the sleeve's one ceiling is where 0.2 mm of clearance gives way to 0.1.
    found = read_back
    assert level_below(found["pipe.stl"], 17.0) == 0.0
    assert level_below(found["steps.stl"], 100.0) == 0.0
    tenon = next(part.drawn_mm for part in tenor.parts if part.where == "o-tenon")
    assert level_below(found["sleeve.stl"], 100.0) == pytest.approx(ring_mm3(tenon + 0.4, tenon + 0.2, 1.0), rel=1e-3)


def test_a_table_filled_in_as_drawn_tells_a_printer_without_fault(tenor, tmp_path):
    lines = coupon_table(tenor, 2).splitlines()
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    filled = []
    for row in rows:
        drawn_mm = float(row["drawn_mm"])
        if row["what"] == "clearance":
            row["verdict"] = "tight" if drawn_mm < 0.14 else "loose" if drawn_mm > 0.26 else "fits"
        elif row["what"] == "groove":
            row["verdict"] = "tight" if drawn_mm < 0.9 else "loose" if drawn_mm > 1.1 else "fits"
        elif row["what"] == "hole" and row["tool"] == "caliper":
            row["along_mm"] = row["around_mm"] = f"{drawn_mm}"
        else:
            step = {"go": -0.01, "no-go": 0.01}.get(row["tool"], 0.0)
            row["reading_mm"] = "0.2" if row["what"] == "seat" else f"{drawn_mm + step}"
        filled.append(",".join(row.values()))
    head = [line for line in lines if line.startswith("#")]
    path = tmp_path / "filled.csv"
    path.write_text("\n".join([*head, ",".join(rows[0]), *filled]) + "\n")
    record = coupon_record(read_coupons(path), path.name)
    for name in (
        "hole_offset_round",
        "hole_oval",
        "bore_offset",
        "outside_offset",
        "shrinkage_along",
        "shrinkage_across",
    ):
        assert record.figure(name).value == pytest.approx(0.0, abs=1e-3), name
    assert record.figure("clearance").value == pytest.approx(0.2, abs=1e-3)
    # Cord 1.5, 0.2 beside the groove, grooves of 0.91, 1.0 and 1.09 mm fit: (1.0 + 0.2) / 1.5 is 20 % less than one.
    assert record.figure("squeeze").value == pytest.approx(20.0, abs=0.1)


def test_pieces_are_drawn_by_what_the_printer_lacks():
    # What is drawn, less what the printer lacks of it, is the finished size.
    record = read_record(CONFIGS / "prototypes" / "lantern-tenor.json", LayoutRecord)
    lacks = {
        "hole_slope": 0.99, "hole_oval_mm": -0.08, "hole_undersize_mm": 0.2, "bore_undersize_mm": 0.1,
        "outside_undersize_mm": -0.06, "facing_mm": 0.25,
    }  # fmt: skip
    printed = record.model_copy(update={"printing": record.printing.model_copy(update=lacks)})
    across = record.printing.factor_across
    for before, after in zip(drawn(record).pieces, drawn(printed, sizing_of(printed, "printed")).pieces, strict=True):
        assert [r for _, r in after.outside] == pytest.approx([r * across - 0.03 for _, r in before.outside])
        assert [r for _, r in after.inside] == pytest.approx([r * across + 0.05 for _, r in before.inside])
        for hole, made in zip(before.holes, after.holes, strict=True):
            assert made.bore_mm == pytest.approx((hole.bore_mm[0] / 0.99 + 0.24, hole.bore_mm[1] / 0.99 + 0.16))
        for flat, made in zip(before.flats, after.flats, strict=True):
            assert made.top_mm == pytest.approx(flat.top_mm * across - 0.03 + (0.0 if flat.sunk else 0.25))


def test_an_instrument_too_narrow_for_a_coupon_is_told():
    project = pipe().project
    bore = project.bore.model_copy(update={"points_mm": [(0.0, 4.0), (320.0, 4.2)], "end_mm": None})
    with pytest.raises(Fault, match=r"a bore of 4\.1 mm takes holes of 1 size, and a slope needs 3"):
        coupon_of(project.model_copy(update={"bore": bore}))


def test_a_bed_too_small_for_the_steps_is_told():
    text = changed("[holes]", "[printer]\nbed_mm = [30, 30, 400]\nmargin_mm = 0\n[holes]")
    with pytest.raises(Fault, match=r"the bed takes 30 mm across, and the coupon's steps need 48"):
        coupon_of(pipe(text).project)


def test_the_command_writes_a_folder_whole_or_not_at_all(written, capsys):
    folder, out = written
    names = {path.name for path in folder.iterdir()}
    pieces = {f"{piece}.{kind}" for piece in ("pipe", "sleeve", "steps") for kind in ("stl", "3mf")}
    assert names == pieces | {"coupon.pdf", "readings.csv"}
    assert all(said in out for said in (*names, ABSENT))
    pages = pypdfium2.PdfDocument(folder / "coupon.pdf")
    words = " ".join(page.get_textpage().get_text_range() for page in pages)
    table = (folder / "readings.csv").read_text()
    for mark in ("h13b", "g5", "c1", "o60", "b6", "l130", "s1"):
        assert f"{mark}: " in words
        assert f",{mark}," in table
    assert "fine particles" in words
    assert told(capsys, "coupon", TENOR)[0] == 2


def test_a_folder_that_is_there_is_left_alone(tenor, written, monkeypatch):
    monkeypatch.setattr(coupon_files, "slicer_files", lambda drawing, printing: [])
    with pytest.raises(Fault, match="is there already"):
        coupon_files.write_coupon(load_project(TENOR).project, written[0], 2)


def test_the_shelfs_readings_make_the_printer_file_that_the_documents_speak_of(tmp_path, capsys):
    like = CONFIGS / "printers" / "filament-256.toml"
    assert told(capsys, "printer", READINGS, "--like", like, "--to", tmp_path / "shelf.toml")[0] == 0
    made = read_included(tmp_path / "shelf.toml", Printer, "printer").model
    # The readings were drawn with offsets of -0.24 along and -0.17 around, 0.31 % along and 0.38 % across.
    assert made.hole_undersize_mm == pytest.approx(0.205, abs=0.05)
    assert made.shrinkage_percent == pytest.approx((0.38, 0.38, 0.31), abs=0.1)
    assert set(made.deviations) == {"hole_diameter_mm", "all_holes_mm", "bore_diameter_mm", "shrinkage_percent"}
    text = TENOR.read_text().replace("printers/filament-256.toml", str(tmp_path / "shelf.toml"))
    text = text.replace("hands/", f"{CONFIGS}/hands/").replace("stock/", f"{CONFIGS}/stock/")
    (tmp_path / "tenor.toml").write_text(text)
    assert told(capsys, "check", tmp_path / "tenor.toml", "--quick")[0] == 0
