"""Folders for the maker that cannot be written, and what is left of them: nothing, but a sentence."""

import errno
import json
import os
import shutil
import signal
from pathlib import Path
from tempfile import mkdtemp

from commanded import told
from made_records import hole, layout
from pieced import PIECES, jointed
from places import CONFIGS
from processes import ended, started, wait_for

from optimizer.handoff import folder, kinds
from optimizer.handoff import handing_over as handing
from optimizer.handoff.handed import Wanted
from optimizer.handoff.handing_over import hand_off
from optimizer.handoff.kinds import KINDS, Kind
from optimizer.records.files import read_record, write_record
from optimizer.records.layout import LayoutRecord

TENOR = CONFIGS / "prototypes" / "lantern-tenor.json"


def refused(capsys, tmp_path, *arguments):
    """What is complained of; nothing new lies beside."""
    before = sorted(tmp_path.iterdir())
    code, out, complaints = told(capsys, "handoff", *arguments)
    assert code == 2
    assert out == ""
    assert "Traceback" not in complaints
    assert sorted(tmp_path.iterdir()) == before
    return complaints


def test_a_folder_that_is_there_is_left_alone(capsys, tmp_path):
    (tmp_path / "out").mkdir()
    assert "is there already" in refused(capsys, tmp_path, TENOR, "--to", tmp_path / "out", "--only", "tables")


def test_no_folder_named(capsys, tmp_path):
    assert "--to FOLDER" in refused(capsys, tmp_path, TENOR)


def test_an_unknown_kind_lists_all(capsys, tmp_path):
    complaints = refused(capsys, tmp_path, TENOR, "--to", tmp_path / "out", "--only", "tables", "cakes")
    assert "no kind of file called cakes" in complaints
    assert all(f"{name}: {kind.told}" in complaints for name, kind in KINDS.items())


def test_an_unknown_layout(capsys, tmp_path):
    complaints = refused(capsys, tmp_path, tmp_path / "no.json", "--to", tmp_path / "out")
    assert "no.json" in complaints


def test_an_unknown_state(capsys, tmp_path):
    complaints = refused(capsys, tmp_path, TENOR, "--to", tmp_path / "out", "--state", "raw")
    assert "finished, printed, ream" in complaints


def test_a_layout_of_a_schema_that_is_not_read(capsys, tmp_path):
    kept = json.loads(TENOR.read_text())
    (tmp_path / "old.json").write_text(json.dumps(kept | {"schema_version": "0.9.0"}))
    assert "schema version 0.9.0" in refused(capsys, tmp_path, tmp_path / "old.json", "--to", tmp_path / "out")


def test_a_layout_with_a_figure_that_is_none(capsys, tmp_path):
    (tmp_path / "nan.json").write_text(TENOR.read_text().replace('"wall_mm": 4.0', '"wall_mm": NaN', 1))
    complaints = refused(capsys, tmp_path, tmp_path / "nan.json", "--to", tmp_path / "out")
    assert "nan" in complaints.lower()


def test_a_hole_wider_than_the_body(capsys, tmp_path):
    write_record(tmp_path / "wide.json", layout(holes=[hole("g1", 200.0, diameter_mm=40.0)]))
    complaints = refused(capsys, tmp_path, tmp_path / "wide.json", "--to", tmp_path / "out", "--only", "templates")
    assert "g1" in complaints
    assert "wide" in complaints


def test_a_piece_larger_than_the_bed(capsys, tmp_path):
    record = jointed(PIECES)
    printing = record.printing.model_copy(update={"bed_mm": (200.0, 180.0, 200.0)})
    write_record(tmp_path / "tall.json", record.model_copy(update={"printing": printing}))
    complaints = refused(capsys, tmp_path, tmp_path / "tall.json", "--to", tmp_path / "out", "--only", "meshes")
    assert "along the printer's z, and the bed leaves 194.0 mm" in complaints


def test_a_seat_over_a_joint(capsys, tmp_path):
    record = read_record(TENOR, LayoutRecord)
    joint, first = record.pieces[2].joint, record.pieces[3].holes[-1]
    holes = [
        each.model_copy(update={"position_mm": joint.at_mm + 1.0}) if each.id == first else each
        for each in record.holes
    ]
    write_record(tmp_path / "over.json", record.model_copy(update={"holes": holes}))
    complaints = refused(capsys, tmp_path, tmp_path / "over.json", "--to", tmp_path / "out", "--only", "tables")
    assert first in complaints


def test_a_folder_that_cannot_be_written(capsys, tmp_path):
    (tmp_path / "file").write_text("")
    complaints = refused(capsys, tmp_path, TENOR, "--to", tmp_path / "file" / "out", "--only", "tables")
    assert "file is no folder" in complaints


def test_a_read_only_folder(capsys, tmp_path, monkeypatch):
    def refusing(**names):  # by itself, as to root every folder is writable
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.setattr(folder, "mkdtemp", refusing)
    complaints = refused(capsys, tmp_path, TENOR, "--to", tmp_path / "out", "--only", "tables")
    assert f"{tmp_path / 'out'}: Permission denied" in complaints


def test_a_full_disk(capsys, tmp_path, monkeypatch):
    written, whole = [], Path.write_text

    def filling(self, *arguments, **options):
        written.append(self)
        if len(written) > 3:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return whole(self, *arguments, **options)

    monkeypatch.setattr(Path, "write_text", filling)
    complaints = refused(capsys, tmp_path, TENOR, "--to", tmp_path / "out", "--only", "tables")
    assert len(written) == 4
    assert "No space left on device" in complaints


def test_a_kind_that_lacks_what_it_needs(capsys, tmp_path, monkeypatch):
    asked = "a cake needs an oven: python -m pip install oven"
    lacking = {"tables": KINDS["tables"], "cake": Kind("a cake", KINDS["tables"].write, lambda: asked)}
    for place in (kinds, handing):
        monkeypatch.setattr(place, "KINDS", lacking)
    complaints = refused(capsys, tmp_path, TENOR, "--to", tmp_path / "out", "--only", "cake")
    assert asked in complaints
    record = hand_off(read_record(TENOR, LayoutRecord), tmp_path / "rest", Wanted((), ("finished",)))
    assert [each.kind for each in record.not_written] == ["cake"]


def test_what_a_killed_command_leaves_is_cleared_by_the_next_and_a_living_ones_never(tmp_path):
    # SIGKILL in mid-writing: what was begun has another name.
    process = started("handoff", TENOR, "--to", tmp_path / "out")
    assert wait_for(lambda: list(tmp_path.glob(".out.*/profiles")))
    record, wanted = read_record(TENOR, LayoutRecord), Wanted(("tables",), ("finished",))
    hand_off(record, tmp_path / "out2", wanted)
    (begun,) = tmp_path.glob(".out.*")
    with folder.whole_folder(tmp_path / "out"):
        assert begun.exists()  # it lives
        process.send_signal(signal.SIGKILL)
        ended(process)
    assert begun.exists()
    shutil.rmtree(tmp_path / "out")
    hand_off(record, tmp_path / "out", wanted)
    assert {path.name for path in tmp_path.iterdir()} == {"out", "out2"}


def test_a_folder_that_another_took_for_a_left_over_before_it_was_locked_is_begun_again(tmp_path, monkeypatch):
    made = []

    def taken(**where):
        made.append(Path(mkdtemp(**where)))
        if len(made) == 1:
            made[0].rmdir()
        return str(made[-1])

    monkeypatch.setattr(folder, "mkdtemp", taken)
    with folder.whole_folder(tmp_path / "out") as part:
        assert part == made[1]
    assert (tmp_path / "out").is_dir()
