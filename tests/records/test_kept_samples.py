"""Runs that every version of the schema has written still open: kept samples in tests/reference, each with its number.

Numbers below 1.4 are of days before the first release, which wrote 1.4; no file of theirs was handed on. A run of each
is kept all the same, made by the program of that number.
"""

import json
import re
import shutil

import pytest
from commanded import told
from places import REFERENCE, ROOT

from optimizer.records.files import SCHEMA_VERSION, read_record
from optimizer.records.layout import LayoutRecord
from optimizer.records.recommendation import RecommendationRecord
from optimizer.records.run import FrontRecord, ProgressRecord, RunRecord

SAMPLES = {
    json.loads(file.read_text(encoding="utf-8"))["schema_version"]: file.parent
    for file in sorted(REFERENCE.rglob("run.json"))
}
BEFORE_THE_RELEASE = {(1, 0), (1, 1), (1, 2), (1, 3)}
FIRST_RELEASED = (1, 4)


def numbered(version):
    return tuple(map(int, version.split(".")[:2]))


def test_there_is_a_sample_of_every_number_that_the_changelog_tells_of():
    # The changelog is what a reader is told; a number that it leaves out is held by the second line.
    told_of = re.findall(r"(?<![\w.])(\d\.\d): ", (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split("Next")[1])
    written = {numbered(version) for version in SAMPLES}
    assert BEFORE_THE_RELEASE | {number for number in map(numbered, told_of) if number >= FIRST_RELEASED} <= written
    assert numbered(SCHEMA_VERSION) == max(written), "keep a small run of the new version in tests/reference/written"


@pytest.mark.parametrize("version", SAMPLES)
def test_a_sample_reads_whole_and_is_shown(version, tmp_path, capsys):
    run = shutil.copytree(SAMPLES[version], tmp_path / "run")
    record, front = read_record(run / "run.json", RunRecord), read_record(run / "pareto.json", FrontRecord)
    assert record.trials_done > 0
    if version != "1.0.0":  # which wrote none
        assert read_record(run / "progress.json", ProgressRecord).trials_done == record.trials_done
    layouts = [read_record(run / entry.file, LayoutRecord) for entry in front.layouts]
    assert [layout.objectives for layout in layouts] == [entry.objectives for entry in front.layouts]
    if (run / "recommendation.json").exists():
        found = read_record(run / "recommendation.json", RecommendationRecord)
        assert {pick.id for pick in found.picks} <= {layout.id for layout in layouts}
    code, out, _ = told(capsys, "show", run)
    assert code == (0 if all(layout.feasible for layout in layouts) else 1)
    assert record.instrument in out
