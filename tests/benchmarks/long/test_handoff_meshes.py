"""The tenor handed over for the slicer: its meshes against the layout, and a piece too tall for the bed."""

from commanded import told
from places import CONFIGS

from optimizer.handoff.handed import Wanted
from optimizer.handoff.handing_over import hand_off
from optimizer.records.files import read_record, write_record
from optimizer.records.layout import LayoutRecord

TENOR = CONFIGS / "prototypes" / "lantern-tenor.json"


def test_meshes_are_held_against_the_layout_and_their_figures_kept(tmp_path):
    made = hand_off(read_record(TENOR, LayoutRecord), tmp_path / "out", Wanted(("meshes",), ("printed",)))
    assert {check.file for check in made.checks} == {file.file for file in made.files if file.kind == "meshes"}
    for check in made.checks:
        assert check.figures["closed"] is True
        assert check.figures["solids"] == 1
        assert check.figures["open_holes"] == check.figures["holes_wanted"] > 0
        assert abs(check.figures["volume_off"]) <= 2e-4
    page = (tmp_path / "out" / "index.html").read_text(encoding="utf-8")
    assert all(check.file in page for check in made.checks)


def test_a_piece_larger_than_the_bed(capsys, tmp_path):
    record = read_record(TENOR, LayoutRecord)
    printing = record.printing.model_copy(update={"bed_mm": (256.0, 256.0, 200.0)})
    write_record(tmp_path / "tall.json", record.model_copy(update={"printing": printing}))
    code, _, complaints = told(capsys, "handoff", tmp_path / "tall.json", "--to", tmp_path / "out", "--only", "meshes")
    assert code == 2
    assert not (tmp_path / "out").exists()
    assert "along the printer's z, and the bed leaves 190.0 mm" in complaints
