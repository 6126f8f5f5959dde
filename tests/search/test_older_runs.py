"""Run folders that older versions wrote still open: shown, reported, compared, taken up again."""

import json
import shutil

import pytest
from places import REFERENCE

from optimizer.commands.cli import main
from optimizer.project.loading import parse_project
from optimizer.records.files import SCHEMA_VERSION, read_record
from optimizer.records.layout import LayoutRecord
from optimizer.records.layout_ids import layout_id
from optimizer.records.run import FrontRecord, ProgressRecord, RunRecord
from optimizer.records.sameness import widths

RUNS = {"run_0_1_0": ("Lantern Tenor", 3, 3), "run_1_6": ("Attic Reed", 6, 2)}
"""Instrument, trials and layouts of every kept run."""


@pytest.fixture(params=RUNS)
def name(request):
    """Name of a kept run."""
    return request.param


@pytest.fixture
def run(tmp_path, name):
    """A copy of the kept run, to write into."""
    return shutil.copytree(REFERENCE / name, tmp_path / "run")


def test_an_older_run_reads_whole(run, name):
    record, front = read_record(run / "run.json", RunRecord), read_record(run / "pareto.json", FrontRecord)
    assert (record.instrument, record.trials_done, len(front.layouts)) == RUNS[name]
    assert (record.acoustics is None) == (name == "run_0_1_0")
    layouts = [read_record(run / entry.file, LayoutRecord) for entry in front.layouts]
    assert [layout.objectives for layout in layouts] == [entry.objectives for entry in front.layouts]
    assert front.objectives == ["tuning", "stretch", "unevenness"]
    assert {record.schema_version, front.schema_version, layouts[0].schema_version} == {SCHEMA_VERSION}


def test_an_older_reach_is_the_stretch_and_an_older_evenness_is_nothing_now(run):
    for entry in read_record(run / "pareto.json", FrontRecord).layouts:
        old = json.loads((run / entry.file).read_text())["objectives"]
        assert set(old) - {"reach", "evenness"} == set(entry.objectives) - {"stretch", "unevenness"}
        assert entry.objectives["stretch"] == old["reach"]
        assert abs(entry.objectives["unevenness"] - old["evenness"]) > 1.0


def test_an_older_layouts_unevenness_is_that_of_its_holes(run):
    # Every main fingering's open tone holes, thumbs aside, from the bell up: whole where the next is wider, else half.
    for file in (run / "layouts").glob("*.json"):
        data, largest = json.loads(file.read_text()), 0.0
        for note in (each for each in data["notes"] if not each["alternate"]):
            row = [
                hole["diameter_mm"]
                for hole, openness in zip(data["holes"], note["openness"], strict=True)
                if openness == 1.0 and hole["role"] == "tone" and hole["by"] not in ("LT", "RT")
            ]
            for lower, upper in zip(row, row[1:], strict=False):  # noqa: RUF007
                step = 100.0 * (upper - lower) / upper if upper > lower else 50.0 * (lower - upper) / lower
                largest = max(largest, step)
        assert read_record(file, LayoutRecord).objectives["unevenness"] == pytest.approx(largest, rel=1e-12)


def test_an_older_project_reads_by_the_names_of_now(run):
    # The kept runs' own text names reach and evenness, which a project of now may not.
    assert "evenness = true" in json.loads((run / "run.json").read_text())["project_text"]
    text = read_record(run / "run.json", RunRecord).project_text
    project = parse_project(text, "run.json").project
    assert project.objective_names == ("tuning", "stretch", "unevenness")
    assert not project.venting.wanted  # nor was it when the run's layouts were found


def test_a_run_from_before_joints_counted_and_venting_goes_on_without():
    data = json.loads((REFERENCE / "run_0_1_0" / "run.json").read_text())
    text = data["project_text"].replace("reach", "stretch").replace("evenness", "unevenness")
    for version, counted in (("2.0.0", False), (SCHEMA_VERSION, True)):
        record = RunRecord.model_validate(data | {"schema_version": version, "project_text": text})
        assert ("joints" in parse_project(record.project_text, "run.json").project.objective_names) == counted
        assert (record.project_text == text) == counted
        assert parse_project(record.project_text, "run.json").project.venting.wanted == counted


def test_an_older_progress_keeps_no_figure_that_evenness_was_part_of(run):
    old = json.loads((run / "progress.json").read_text())
    found = read_record(run / "progress.json", ProgressRecord)
    assert (found.hypervolume, old["hypervolume"] > 0) == (0.0, True)
    assert found.best == {"tuning": old["best"]["tuning"], "stretch": old["best"]["reach"]}


def test_unevenness_is_left_out_where_a_layout_cannot_be_read(run, capsys):
    before = read_record(run / "pareto.json", FrontRecord)
    (run / before.layouts[0].file).unlink()
    front = read_record(run / "pareto.json", FrontRecord)
    assert front.objectives == ["tuning", "stretch"]
    assert "unevenness" not in front.layouts[0].objectives
    assert main(["show", str(run)]) == 0
    assert "unevenness is left out" in " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize("command", ["show RUN", "show RUN/LAYOUT", "report RUN", "reach RUN --quick"])
def test_an_older_run_is_shown(run, name, command, capsys):
    first = read_record(run / "pareto.json", FrontRecord).layouts[0]
    assert main(command.replace("RUN", str(run)).replace("LAYOUT", first.file).split()) == 0
    page, out = run / "report.html", " ".join(capsys.readouterr().out.split())
    said = page.read_text() if page.exists() else out
    assert RUNS[name][0] in said
    if command in ("show RUN", "report RUN"):
        assert "sought by an older evenness" in said
    if command in ("show RUN/LAYOUT", "report RUN"):
        assert "argest step between open neighbours" in said


def test_an_older_run_goes_on(run, name):
    before = read_record(run / "pareto.json", FrontRecord)
    assert main(["resume", str(run), "--trials", "1", "--workers", "1", "--minutes", "5"]) == 0
    record, front = read_record(run / "run.json", RunRecord), read_record(run / "pareto.json", FrontRecord)
    done = RUNS[name][1]
    assert record.trials_done == done + 1
    assert len(record.resumed) == 1
    assert not front.sought_otherwise
    assert record.sameness is None
    assert front.thinned_to == widths(front.objectives, None)
    kept = {entry.id for entry in front.layouts}
    assert kept - {entry.id for entry in before.layouts} <= {layout_id(done)}
