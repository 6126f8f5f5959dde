"""STEP files of whole layouts: what is read back from them, against the record; and layouts that none is written of."""

import re
from importlib.util import find_spec

import pytest
from pieced import SHRUNK, jointed
from places import CONFIGS, ROOT
from solid_cases import piece

from optimizer.handoff.kinds import KINDS
from optimizer.handoff.shapes.drawing import drawn, sizing_of
from optimizer.handoff.shapes.volume import volume_mm3
from optimizer.handoff.step import kernel_process
from optimizer.handoff.step.read_back import Found
from optimizer.handoff.step.step_checks import piece_check, recorded_holes, whole_check
from optimizer.handoff.step.step_files import write_step_files
from optimizer.project.faults import Fault
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord

pytestmark = pytest.mark.skipif(not find_spec("OCP"), reason="the extra cad is not installed here")


@pytest.fixture(scope="module")
def tenor():
    return read_record(CONFIGS / "prototypes" / "lantern-tenor.json", LayoutRecord)


@pytest.fixture(scope="module")
def pipe():
    """A pipe of two pieces, which shrink twice as much along as around."""
    return jointed(SHRUNK)


def finished(record):
    """A layout's drawings in finished sizes."""
    return [drawn(record, sizing_of(record, "finished", {}))]


@pytest.fixture(scope="module")
def written(pipe, tmp_path_factory):
    """The pipe's finished files, and what was found in them."""
    folder = tmp_path_factory.mktemp("pipe")
    return folder, write_step_files(pipe, finished(pipe), folder)


def test_every_file_of_the_pipe_is_what_the_record_says(pipe, written):
    folder, (*pieces, whole) = written
    assert sorted(path.name for path in folder.iterdir()) == sorted(check.file for check in (*pieces, whole))
    for check, record in zip(pieces, pipe.pieces, strict=True):
        assert (check.found.solids, check.found.valid, check.found.euler) == (1, True, -2 * len(record.holes))
        assert set(check.off) == set(record.holes)
        assert check.holes_off_mm <= 0.001
        assert abs(check.volume_off) <= 1e-5
        assert check.found.box_mm[2] == pytest.approx(record.length_mm, abs=0.001)
        assert check.problems == []
    assert whole.found.solids == len(pipe.pieces)
    assert set(whole.off) == {hole.id for hole in pipe.holes}
    assert whole.problems == []


def test_surfaces_stay_planes_cylinders_and_cones(written):
    kinds = {"PLANE", "CYLINDRICAL_SURFACE", "CONICAL_SURFACE"}
    for path in written[0].glob("piece*"):
        assert set(re.findall(r"\b(\w*SURFACE\w*|PLANE) ?\(", path.read_text())) - {"SURFACE_CURVE"} == kinds, path.name


# what is refused


def refused(record, drawings, folder):
    with pytest.raises(Fault) as found:
        write_step_files(record, drawings, folder)
    assert not any(folder.iterdir())  # nothing half-written
    return found.value


def test_without_the_kernel_a_line_to_paste_is_told(pipe, tmp_path, monkeypatch):
    monkeypatch.setattr(kernel_process, "PACKAGE", "no_such_package")
    assert "python -m pip install 'cadquery-ocp-novtk" in str(refused(pipe, finished(pipe), tmp_path))


def test_a_folder_that_is_not_there_is_told(pipe, tmp_path):
    with pytest.raises(Fault, match="No such file or directory"):
        write_step_files(pipe, finished(pipe), tmp_path / "none")


# what would be said


PLAIN = piece()


def problems(**changes):
    """What is said of a file of the plain cone that is sound but for changes."""
    sound = Found(1, True, 0, volume_mm3(PLAIN), (28.0, 28.0, 120.0), ())
    return piece_check("body.step", PLAIN, sound._replace(**changes), [], None).problems


def test_of_a_sound_file_nothing_is_said():
    assert problems() == []
    assert problems(volume_mm3=volume_mm3(PLAIN) * (1.0 + 9e-6)) == []


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"valid": False}, "the CAD kernel finds its surface unsound"),
        ({"solids": 2}, "it holds 2 solids, not 1"),
        ({"euler": -2}, "1 holes are open, and 0 are wanted: one does not break through, or two run into each other"),
        ({"volume_mm3": volume_mm3(PLAIN) * 1.00002}, "its volume is off by +0.0020 %"),
        ({"volume_mm3": float("nan")}, "its volume is off by +nan %"),
        ({"box_mm": (28.0, 28.0, 119.99)}, "it is 119.990 mm long, not 120.000 mm"),
        ({"box_mm": (28.0, 28.0, float("nan"))}, "it is nan mm long, not 120.000 mm"),
    ],
)
def test_what_is_wrong_with_a_file_is_told(changes, said):
    assert problems(**changes) == [f"body.step: {said}"]


def test_a_hole_that_is_not_in_a_file_is_told(tenor):
    drawn_piece = drawn(tenor).pieces[0]
    sound = Found(1, True, -10, volume_mm3(drawn_piece), (28.0, 28.0, 178.74), ())
    check = piece_check("piece-1.step", drawn_piece, sound, recorded_holes(tenor, drawn_piece), None)
    assert check.problems == [f"piece-1.step: hole {name} is not in it" for name in tenor.pieces[0].holes]
    assert check.figures["open_holes"] == check.figures["holes_wanted"] == 5
    assert check.figures["box_mm"] == "28.0 x 28.0 x 178.7"


def test_a_whole_that_lacks_a_piece_is_told(tenor):
    check = whole_check("whole.step", 5, Found(4, True, -40, 1.0, (1.0, 1.0, 1.0), ()), tenor)
    assert check.problems[0] == "whole.step: it holds 4 solids, not 5"
    assert check.volume_off is None


def test_the_line_to_paste_is_what_the_package_asks_for():
    asked = re.search(r'^cad = \["([^"]+)"\]$', (ROOT / "pyproject.toml").read_text(), re.MULTILINE)[1]
    assert f"pip install '{asked}'" in kernel_process.ABSENT


def test_a_kind_of_files_that_lacks_the_kernel_says_that_line(monkeypatch):
    monkeypatch.setattr(kernel_process, "PACKAGE", "a_kernel_that_nobody_has")
    assert {name: kind.lacking for name, kind in KINDS.items() if kind.lacking} == {"step": kernel_process.ABSENT}
