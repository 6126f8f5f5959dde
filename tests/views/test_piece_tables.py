"""Pieces in a terminal: joints, printed sizes, and cautions beside them."""

from pieced import SHRUNK, jointed

from optimizer import cautions
from optimizer.commands.cli import main
from optimizer.records.files import write_record


def test_pieces_are_shown_with_joints_and_cautions(tmp_path, capsys):
    record = jointed(SHRUNK)
    write_record(tmp_path / "t00000.json", record)
    assert main(["show", str(tmp_path / "t00000.json")]) == 0
    out = " ".join(capsys.readouterr().out.split())
    joint = record.pieces[0].joint
    assert f"{joint.tenon_diameter_mm:.2f} {joint.tenon_wall_mm:.2f} {joint.socket_diameter_mm:.2f}" in out
    assert f"{record.pieces[0].to_print.length_mm:.2f}" in out
    assert "x 1.02041 along and x 1.01010 across" in out
    after = out.partition("Pieces, mm")[2]
    assert cautions.PRINTING in after.split("Reach, mm")[0]
    assert cautions.WORKING in after.split("Reach, mm")[0]
