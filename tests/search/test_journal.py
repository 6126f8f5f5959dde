"""A study's journal made whole again, and trials matched to saved layouts by number."""

import json
import shutil

import pytest
from made_records import layout
from optuna.trial import TrialState
from places import REFERENCE

from optimizer.commands.cli import main
from optimizer.records.files import RecordError, read_record, write_record
from optimizer.records.layout_ids import layout_id, trial_number
from optimizer.records.run import FrontRecord, RunRecord
from optimizer.search.journal import mended_journal
from optimizer.search.run_folder import saved_layouts
from optimizer.search.sampler import FrontSampler
from optimizer.search.study import new_study, reopened_study, trials_behind

NAMES, SAMPLER = ("tuning", "stretch"), FrontSampler(tuple, 1)
FIRST = ({"stretch_share": 1e-4}, {"stretch_share": 1.0})


def entered(state, values=None):
    """The line that enters a trial without parameters, as Optuna writes it."""
    entry = {
        "op_code": 4, "worker_id": "lantern", "study_id": 0, "datetime_start": "2026-11-01T00:00:00", "state": state,
        "value": None, "values": values, "datetime_complete": "2026-11-01T00:00:01", "distributions": {}, "params": {},
        "user_attrs": {}, "system_attrs": {}, "intermediate_values": {},
    }  # fmt: skip
    return json.dumps(entry, separators=(",", ":")) + "\n"


IDLE, DONE = entered(TrialState.FAIL), entered(TrialState.COMPLETE, [1.0, 2.0])


def test_a_cut_line_is_dropped(tmp_path):
    journal = tmp_path / "journal.log"
    new_study(journal, NAMES, SAMPLER, FIRST)
    text = journal.read_bytes()
    for cut in (1, 10, 37):
        journal.write_bytes(text + text.splitlines()[-1][:cut])
        assert mended_journal(journal, 0) == ["its last line, cut off in mid-write, is dropped"]
        assert journal.read_bytes() == text
        assert mended_journal(journal, 0) == []


def test_a_broken_line_in_the_middle_is_told(tmp_path):
    journal = tmp_path / "journal.log"
    new_study(journal, NAMES, SAMPLER, FIRST)
    first, *rest = journal.read_bytes().splitlines(keepends=True)
    journal.write_bytes(first + b"{oops\n" + b"".join(rest))
    with pytest.raises(RecordError, match="broken at line 2"):
        mended_journal(journal, 0)
    assert journal.read_bytes() == first + b"{oops\n" + b"".join(rest)


def test_ids_are_numbers_however_wide_they_are_written():
    assert [trial_number(name) for name in ("t00007", "t20000", "t100005", layout_id(7))] == [7, 20000, 100005, 7]
    assert [trial_number(name) for name in ("free", "t", "t-1", "t1.5", "x00001", "t1\n", "t" + "9" * 19)] == [None] * 7
    ids = [layout_id(number) for number in (2, 99_999, 100_000, 9_999_999, 10_000_000)]
    assert sorted(ids) == ids


def test_a_search_goes_on_where_its_ids_have_grown_wider(tmp_path):
    # As texts, t9 comes after t00030 and t20000 after t100005: numbers would be entered as failed without an end.
    journal = tmp_path / "journal.log"
    new_study(journal, NAMES, SAMPLER)
    with journal.open("a") as stream:
        stream.write(DONE * 30)
    before = journal.read_bytes()
    again = reopened_study(journal, NAMES, SAMPLER, {"t9": layout("t9"), "t00020": layout("t00020")})
    assert journal.read_bytes() == before
    assert again.ask().number == 30
    assert trials_behind(["t20000", "t100004", "t99999", "free"]) == 100_005


def test_layouts_are_saved_in_the_order_of_their_trials(tmp_path):
    for name in ("t100000", "t20000", layout_id(3), "t00002"):
        write_record(tmp_path / "layouts" / f"{name}.json", layout(name))
    assert list(saved_layouts(tmp_path)) == ["t00002", layout_id(3), "t20000", "t100000"]


def test_a_trial_under_way_is_told_from_its_layout_under_an_older_id(tmp_path):
    journal = tmp_path / "journal.log"
    new_study(journal, NAMES, SAMPLER).ask()
    again = reopened_study(journal, NAMES, SAMPLER, {"t00000": layout("t00000")})
    assert [trial.state for trial in again.get_trials()] == [TrialState.COMPLETE]


@pytest.mark.parametrize(("least", "left"), [(0, 2), (2, 2), (4, 4), (40, 7)])
def test_idle_trials_at_the_end_are_cut_off_but_for_numbers_that_are_taken(tmp_path, least, left):
    journal = tmp_path / "journal.log"
    new_study(journal, NAMES, SAMPLER)
    kept = journal.read_text() + IDLE + DONE
    journal.write_text(kept + 5 * IDLE + IDLE[:20])
    idle = [f"{7 - left} trials at its end that nobody asked for, cut off"] if left < 7 else []
    assert mended_journal(journal, least) == ["its last line, cut off in mid-write, is dropped", *idle]
    assert journal.read_text() == kept + (left - 2) * IDLE
    assert mended_journal(journal, least) == []


def test_a_layout_far_beyond_the_journal_is_told(tmp_path):
    journal = tmp_path / "journal.log"
    new_study(journal, NAMES, SAMPLER)
    with pytest.raises(
        RecordError, match="there is a layout of trial 99999, but the search's memory ends with trial -1"
    ):
        reopened_study(journal, NAMES, SAMPLER, {"t99999": layout("t99999")})


def test_a_run_filled_with_idle_trials_goes_on_where_it_was(tmp_path, capsys):
    run = shutil.copytree(REFERENCE / "run_0_1_0", tmp_path / "run")
    with (run / "journal.log").open("a") as stream:
        stream.write(1200 * IDLE)
    assert main(["resume", str(run), "--trials", "1", "--workers", "1", "--minutes", "5", "--no-report"]) == 0
    assert f"{run}/journal.log: 1200 trials at its end that nobody asked for, cut off" in capsys.readouterr().err
    assert IDLE not in (run / "journal.log").read_text()
    record, front = read_record(run / "run.json", RunRecord), read_record(run / "pareto.json", FrontRecord)
    assert (record.trials_done, record.trials_failed) == (4, 0)
    assert {trial_number(entry.id) for entry in front.layouts} <= {0, 1, 2, 3}
