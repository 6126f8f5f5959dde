"""STEP files of the tenor, and of a pipe in every state: what is read back from them, against the record."""

import re
from dataclasses import replace
from importlib.util import find_spec

import folded
import pytest
from pieced import SHRUNK, jointed
from places import CONFIGS

from optimizer.handoff.handed import Wanted
from optimizer.handoff.handing_over import hand_off
from optimizer.handoff.shapes.drawing import drawn, sizing_of
from optimizer.handoff.step import step_files
from optimizer.handoff.step.kernel_process import KernelFault
from optimizer.handoff.step.step_files import StepError, write_step_files
from optimizer.project.faults import Fault
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord

pytestmark = pytest.mark.skipif(not find_spec("OCP"), reason="the extra cad is not installed here")

MODELS = {"SHELL_BASED_SURFACE_MODEL", "MANIFOLD_SURFACE_SHAPE_REPRESENTATION", "SURFACE_CURVE"}
"""Words for how the skeleton's discs are put together, and for edges on two surfaces: none for how a face is bent."""

KINDS = {"PLANE", "CYLINDRICAL_SURFACE", "CONICAL_SURFACE"}

STATES = ("finished", "printed", "printed to ream")


@pytest.fixture(scope="module")
def tenor():
    return read_record(CONFIGS / "prototypes" / "lantern-tenor.json", LayoutRecord)


@pytest.fixture(scope="module")
def pipe():
    """A pipe of two pieces, which shrink twice as much along as around."""
    return jointed(SHRUNK)


def states(record, names=STATES):
    """A layout's drawings, every hole 0.3 mm narrower where it is to be reamed."""
    less = {hole.id: 0.3 for hole in record.holes}
    return [drawn(record, sizing_of(record, state, less)) for state in names]


@pytest.fixture(scope="module")
def written(tenor, tmp_path_factory):
    """The tenor's finished files, and what was found in them."""
    folder = tmp_path_factory.mktemp("tenor")
    return folder, write_step_files(tenor, states(tenor, ["finished"]), folder)


@pytest.fixture(scope="module")
def printed(pipe, tmp_path_factory):
    """The pipe's files in every state, and what was found in them."""
    folder = tmp_path_factory.mktemp("pipe")
    return folder, write_step_files(pipe, states(pipe), folder)


def test_every_file_of_the_tenor_is_what_the_record_says(tenor, written):
    folder, checks = written
    assert sorted(path.name for path in folder.iterdir()) == sorted(check.file for check in checks)
    *pieces, whole = checks
    assert [check.file for check in pieces] == [f"piece-{number}-finished.step" for number in (1, 2, 3, 4)]
    for check, record in zip(pieces, tenor.pieces, strict=True):
        assert (check.found.solids, check.found.valid, check.found.euler) == (1, True, -2 * len(record.holes))
        assert set(check.off) == set(record.holes)
        assert check.holes_off_mm <= 0.001
        assert abs(check.volume_off) <= 1e-5
        assert check.found.box_mm[2] == pytest.approx(record.length_mm, abs=0.001)
        assert check.thinnest.mm > 0.5
        assert check.problems == []
    assert whole.found.solids == len(tenor.pieces) + 1  # and the crook
    assert set(whole.off) == {hole.id for hole in tenor.holes}
    assert whole.holes_off_mm <= 0.001
    assert whole.problems == []


def test_the_whole_names_pieces_crook_and_keywork_and_its_head_says_what_it_is(tenor, written):
    text = (written[0] / "whole-finished.step").read_text()
    names = re.findall(r"= PRODUCT\('([^']*)'", text)
    assert names[0] == "Lantern Tenor"
    assert {"crook, drawn straight", "piece 1", "piece 4", "pads", "axis of the bore"} <= set(names)
    assert {f"rod of {key.id}" for key in tenor.keys if key.axle} <= set(names)
    assert {f"pad of {hole.id}" for hole in tenor.holes if hole.pad} <= set(names)
    assert {f"touch of {key.id}" for key in tenor.keys if key.touch_position_mm is not None} <= set(names)
    head = re.sub(r"\s+", " ", text[: text.index("ENDSEC")])
    assert "all pieces on one straight axis, the crook drawn straight, as its tube" in head
    assert "finished sizes in mm" in head


def test_surfaces_stay_planes_cylinders_and_cones(written):
    for path in written[0].iterdir():
        text = path.read_text()
        assert set(re.findall(r"\b(\w*SURFACE\w*|PLANE) ?\(", text)) - MODELS == KINDS, path.name


def test_prints_have_the_sizes_of_to_print_and_names_that_say_so(pipe, printed):
    folder, checks = printed
    by_file = {check.file: check for check in checks}
    assert len(by_file) == len(pipe.pieces) * len(STATES) + 1
    for number, record in enumerate(pipe.pieces, start=1):
        finished, larger, reamed = (by_file[f"piece-{number}-{state}.step"] for state in
                                    ("finished", "printed", "printed-to-ream"))  # fmt: skip
        assert finished.found.box_mm[2] == pytest.approx(record.length_mm, abs=0.001)
        assert larger.found.box_mm[2] == pytest.approx(record.to_print.length_mm, abs=0.001)
        assert reamed.found.volume_mm3 > larger.found.volume_mm3  # narrower holes leave more
        for check in (finished, larger, reamed):
            assert check.problems == []
            assert check.holes_off_mm <= 0.001
            assert abs(check.volume_off) <= 1e-5
        head = re.sub(r"\s+", " ", (folder / larger.file).read_text().partition("ENDSEC")[0])
        factors = pipe.printing.factor_along, pipe.printing.factor_across
        assert "enlarged x {:.4f} along and x {:.4f} across, slice at 100 %".format(*factors) in head


def test_holes_of_a_print_are_as_wide_as_to_print_has_them(pipe, printed):
    faces = [face for check in printed[1] if check.state == "printed" for face in check.found.faces]
    holes = [(face.origin[2], 2.0 * max(face.radii_mm)) for face in faces if face.hollow and abs(face.along[2]) < 1e-9]
    for record in pipe.pieces:
        for wanted in record.to_print.holes:
            along, around = wanted.diameter_mm
            (wide,) = {round(wide, 6) for z, wide in holes if abs(z - wanted.from_end_mm) < 0.001}
            assert wide == pytest.approx((along * around) ** 0.5, abs=0.001)


def test_the_same_layout_makes_the_same_bytes(pipe, printed, tmp_path):
    folder, checks = printed
    again = write_step_files(pipe, states(pipe, ["finished"]), tmp_path)
    for check in again:
        assert (tmp_path / check.file).read_bytes() == (folder / check.file).read_bytes()
    assert again == [check for check in checks if check.state == "finished"]


def test_a_hand_off_holds_finished_files_and_those_of_its_state(pipe, tmp_path):
    made = hand_off(pipe, tmp_path / "out", Wanted(("step",), ("printed",)))
    pieces = [f"step/piece-{number}-{state}.step" for number in (1, 2) for state in ("finished", "printed")]
    assert {check.file for check in made.checks} == {*pieces, "step/whole-finished.step"}
    for check in made.checks:
        assert check.figures["valid"] is True
        assert check.figures["open_holes"] == check.figures["holes_wanted"] > 0
        assert check.figures["holes_off_mm"] <= 0.001
    assert "cadquery-ocp-novtk" in made.versions


def test_every_file_of_a_folded_body_is_what_the_record_says(tmp_path):
    record = folded.solved()
    *pieces, whole = write_step_files(record, states(record, ["finished"]), tmp_path)
    for check, piece in zip(pieces, record.pieces, strict=True):
        assert set(check.off) == set(piece.holes)
        assert check.holes_off_mm <= 1e-6
        assert abs(check.volume_off) <= 1e-8
        assert check.problems == []
    assert (whole.found.solids, set(whole.off)) == (3, {hole.id for hole in record.holes})
    assert whole.holes_off_mm <= 1e-6
    assert whole.problems == []
    # Held, it is 60 mm deep and wide from axis to axis, the body 14 mm from each; of the 1500 mm of its centre line the
    # third tube ends 511.5 mm down, the first bend's far side lies at 544 mm and the second's at 56 mm: z from 0.
    text = (tmp_path / "whole-finished.step").read_text()
    assert "all pieces as they are held" in re.sub(r"\s+", " ", text[: text.index("ENDSEC")])
    assert whole.found.box_mm[2] == pytest.approx(544.0, abs=0.01)
    assert set(re.findall(r"\b(\w*SURFACE\w*|PLANE) ?\(", text)) - MODELS == {*KINDS, "TOROIDAL_SURFACE"}


def test_a_folded_body_that_a_number_shapes_is_handed_off(tmp_path):
    # A cone from 20 mm at the reed, whose angle is settled with the holes: its bends widen as they turn.
    record = folded.solved_cone()
    assert record.feasible
    assert set(record.bore.shaped_by) == {"cone_half_angle_deg"}
    made = hand_off(record, tmp_path / "out", Wanted(("step", "profiles", "keys"), ("finished",)))
    assert made.not_written == []
    whole, *pieces = sorted(made.checks, key=lambda check: "whole" not in check.file)
    assert (whole.figures["solids"], whole.figures["open_holes"]) == (3, 4)
    for check in pieces:
        assert abs(check.figures["volume_off"]) <= 1e-8
        assert check.figures["holes_off_mm"] <= 1e-6


# what is refused


def refused(record, drawings, folder):
    with pytest.raises(Fault) as found:
        write_step_files(record, drawings, folder)
    assert not any(folder.iterdir())  # nothing half-written
    return found.value


def test_a_hole_that_is_not_where_the_record_has_it_is_refused(pipe, tmp_path):
    (drawing,) = states(pipe, ["finished"])
    first = drawing.pieces[0]
    moved = replace(first.holes[0], z_mm=first.holes[0].z_mm + 0.02)
    wrong = replace(drawing, pieces=(replace(first, holes=(moved, *first.holes[1:])), *drawing.pieces[1:]))
    fault = refused(pipe, [wrong], tmp_path)
    assert isinstance(fault, StepError)
    name = moved.id
    assert fault.problems == [
        f"piece-1-finished.step: hole {name} is off by 0.0200 mm",
        f"whole-finished.step: hole {name} is off by 0.0200 mm",
    ]


def test_a_print_larger_than_the_bed_is_refused(pipe, tmp_path):
    small = pipe.printing.model_copy(update={"bed_mm": (60.0, 60.0, 120.0)})
    record = pipe.model_copy(update={"printing": small})
    fault = refused(record, states(record, ["printed"]), tmp_path)
    (said,) = fault.problems  # the second piece is 104 mm long
    assert "piece 1 is 238.6 mm along the printer's z, and the bed leaves 114.0 mm" in said


def crash(*_given):
    import os
    import signal

    os.kill(os.getpid(), signal.SIGSEGV)


def test_a_crash_of_the_kernel_costs_a_sentence(pipe, tmp_path, monkeypatch):
    monkeypatch.setattr(step_files, "_piece_written", crash)
    fault = refused(pipe, states(pipe, ["finished"]), tmp_path)
    assert isinstance(fault, KernelFault)
    assert str(fault) == "piece-1-finished.step: the CAD kernel died, ended by SIGSEGV"


def test_a_folder_that_is_not_there_is_told(pipe, tmp_path):
    with pytest.raises(Fault, match="No such file or directory"):
        write_step_files(pipe, states(pipe, ["finished"]), tmp_path / "none")
