"""A run folder that release 0.1.0 wrote still opens: shown, reported, compared, taken up again."""

import shutil

import pytest
from places import REFERENCE

from optimizer.commands.cli import main
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord, layout_id
from optimizer.records.run import FrontRecord, RunRecord


@pytest.fixture
def run(tmp_path):
    """A copy of the kept run, to write into."""
    return shutil.copytree(REFERENCE / "run_0_1_0", tmp_path / "run")


def test_a_run_of_release_0_1_0_reads_whole(run):
    record, front = read_record(run / "run.json", RunRecord), read_record(run / "pareto.json", FrontRecord)
    assert record.trials_done == 3
    assert record.acoustics is None
    layouts = [read_record(run / entry.file, LayoutRecord) for entry in front.layouts]
    assert [layout.objectives for layout in layouts] == [entry.objectives for entry in front.layouts]


@pytest.mark.parametrize("command", ["show RUN", "show RUN/layouts/t00000.json", "report RUN", "reach RUN --quick"])
def test_a_run_of_release_0_1_0_is_shown(run, command, capsys):
    assert main(command.replace("RUN", str(run)).split()) == 0
    page = run / "report.html"
    assert "Lantern Tenor" in (page.read_text() if page.exists() else capsys.readouterr().out)


def test_a_run_of_release_0_1_0_goes_on(run):
    before = read_record(run / "pareto.json", FrontRecord)
    assert main(["resume", str(run), "--trials", "2", "--workers", "1", "--minutes", "5"]) == 0
    record, front = read_record(run / "run.json", RunRecord), read_record(run / "pareto.json", FrontRecord)
    assert record.trials_done == 5
    assert len(record.resumed) == 1
    kept = {entry.id for entry in front.layouts}
    assert kept - {entry.id for entry in before.layouts} <= {layout_id(3), layout_id(4)}
