"""Bodies in pieces, searched: the tenor's fit its printer, and printed ones stay as they are."""

import json

from commanded import told
from pieced import LONG
from places import CONFIGS

from optimizer.project.loading import load_project
from optimizer.records.files import write_record
from optimizer.records.layout import LayoutRecord
from optimizer.search.proposals import Proposal
from optimizer.search.trial import Solver
from optimizer.solving.linearised import Emphasis


def test_the_tenor_solves_in_pieces_that_fit_its_printer():
    loaded = load_project(CONFIGS / "lantern-tenor.toml")
    result = Solver(loaded.text, loaded.source).solve(
        Proposal(0, Emphasis(1.0, stretch=0.03, unevenness=0.03), 0.5, 0.0, 1)
    )
    record = LayoutRecord.model_validate_json(result.record_json)
    assert record.feasible
    assert len(record.pieces) == 4
    assert sorted(name for piece in record.pieces for name in piece.holes) == sorted(
        hole.id for hole in record.holes if hole.position_mm > 150
    )
    # The bed of 256 less 10 mm holds each print; no hole's centre comes nearer to a joint than its keep-out.
    assert all(piece.to_print.length_mm <= 246.0 for piece in record.pieces)
    for piece in record.pieces[:-1]:
        low, high = piece.joint.keep_out_mm
        assert not [hole.id for hole in record.holes if low < hole.position_mm < high]


def test_printed_pieces_stay_through_a_search_that_is_resumed(printed, tmp_path, capsys):
    project, layout = tmp_path / "pipe.toml", tmp_path / "t00000.json"
    project.write_text(LONG + "\n[scale]\na4_hz = 436.0\n")
    write_record(layout, printed)
    place, few = tmp_path / "runs", ["--trials", "3", "--workers", "1"]
    code, _, err = told(capsys, "search", project, "--locked", layout, "--pieces", "1", "--results", place, *few)
    assert code == 0, err
    (folder,) = place.iterdir()
    code, _, err = told(capsys, "resume", folder, *few)
    assert code == 0, err
    assert json.loads((folder / "run.json").read_text())["trials_done"] == 6
    kept = ("position_mm", "azimuth_deg", "diameter_mm", "top_diameter_mm", "chimney_mm")
    holes = json.loads(layout.read_text())["holes"][1:]
    front = json.loads((folder / "pareto.json").read_text())["layouts"]
    assert front
    for entry in front:
        found = json.loads((folder / entry["file"]).read_text())["holes"][1:]
        assert [[hole[name] for name in kept] for hole in found] == [[hole[name] for name in kept] for hole in holes]
