"""Pieces in a terminal: joints, printed sizes, and cautions beside them."""

import pytest
from pieced import SHRUNK, jointed

from optimizer import cautions
from optimizer.commands.cli import main
from optimizer.records.files import write_record
from optimizer.records.pieces import PieceRecord, without_holes
from optimizer.views.layout_tables import holes_table
from optimizer.views.piece_tables import body_tables


def test_pieces_are_shown_with_joints_and_cautions(tmp_path, capsys):
    record = jointed(SHRUNK)
    write_record(tmp_path / "t00000.json", record)
    assert main(["show", str(tmp_path / "t00000.json")]) == 0
    out = " ".join(capsys.readouterr().out.split())
    joint = record.pieces[0].joint
    assert f"{joint.tenon_diameter_mm:.2f} {joint.tenon_wall_mm:.2f} {joint.socket_diameter_mm:.2f}" in out
    assert f"{record.pieces[0].to_print.length_mm:.2f}" in out
    assert "x 1.02041 along and x 1.01010 across" in out
    assert out.count(cautions.PRINTING) == out.count(cautions.WORKING) == 1


def test_holes_are_told_from_the_end_of_their_own_piece():
    # The printer's own drawing counts from there, enlarged once: 2 % shrinkage along the body.
    record = jointed(SHRUNK)
    table = holes_table(record.holes, record.pieces)
    keys = [column.key for column in table.columns]
    told = {row[keys.index("hole")]: (row[keys.index("piece")], row[keys.index("there")]) for row in table.rows}
    drawn = {
        hole.id: (number, hole.from_end_mm / record.printing.factor_along)
        for number, piece in enumerate(record.pieces, start=1)
        for hole in piece.to_print.holes
    }
    assert len(drawn) == len(record.holes)
    for name, (piece, at) in drawn.items():
        assert told[name] == (piece, pytest.approx(at, abs=0.01))


def row_of(*pieces):
    """Pieces from 100 mm on, each so long between middles of 20 mm joints, with so many holes."""
    found, at = [], 100.0
    for number, (length, holes) in enumerate(pieces, start=1):
        joint = 20.0 * (number < len(pieces))
        ends = 10.0 * (number > 1) + joint / 2.0
        names = [f"h{number}{hole}" for hole in range(holes)]
        found.append(PieceRecord(from_mm=at, to_mm=at + length, joint_mm=joint, length_mm=length + ends, holes=names))
        at += length
    return found


@pytest.mark.parametrize(
    ("pieces", "said"),
    [
        # The bed of 300 less 6 holds 294 standing. Pieces 2 and 3 in one: 70 + 60 and half a joint above, 140;
        # 1 and 2: 80 + 70 and half a joint below, 160. Joined with what is left, 1 or 3 lies on no third piece.
        (((80, 2), (70, 0), (60, 1)), ["piece 2, 90 mm long, has no hole: the bed holds it and piece 3 in one, 140"]),
        (((200, 2), (200, 0), (200, 1)), ["piece 2, 220 mm long, has no hole, and the bed holds it in one with no"]),
        (((80, 2), (70, 1)), []),
        (((80, 0),), []),
        (((80, 0), (70, 0)), ["piece 1, 90 mm long, has no hole: the bed holds it and piece 2", "piece 2, 80 mm long"]),
    ],
)  # fmt: skip
def test_a_piece_without_a_hole_is_told_with_what_would_save_it(pieces, said):
    printing = jointed(SHRUNK).printing.model_copy(update={"factor_along": 1.0})
    found = without_holes(row_of(*pieces), printing)
    assert len(found) == len(said)
    assert all(words in sentence for words, sentence in zip(said, found, strict=True))


def test_a_piece_without_a_hole_stands_out_beside_the_others():
    record = jointed(SHRUNK)
    bare = record.model_copy(update={"pieces": [record.pieces[0], record.pieces[1].model_copy(update={"holes": []})]})
    for layout, told in ((record, False), (bare, True)):
        table = body_tables(layout)[0]
        assert any("has no hole" in note for note in table.notes) == told
        assert any(cell.words == "none" and cell.look == "warn" for row in table.cells() for cell in row) == told


def test_the_longest_piece_of_a_printer_is_that_of_its_project():
    record = jointed(SHRUNK)
    # 300 less the margin of 6 along z, and a cold part is 2 % smaller.
    assert record.printing.piece_max_mm == pytest.approx((300 - 6) * 0.98, rel=1e-12)
