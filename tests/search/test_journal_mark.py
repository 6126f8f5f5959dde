"""A journal taken up from its mark is what it is when it is read from the beginning, and one that was tampered with is
told."""

import random
import shutil
import zlib

import optuna
import pytest
from made_records import layout
from optuna.storages import JournalStorage
from optuna.storages.journal import JournalFileBackend
from runs import only_run
from shelf import PIPE, pipe

from optimizer.records.files import RecordError, read_record, write_record
from optimizer.records.run import RunRecord
from optimizer.search.journal import Journal, mended_journal
from optimizer.search.journal_mark import mark_of
from optimizer.search.run_folder import create_run
from optimizer.search.runs import Limits, resume
from optimizer.search.sampler import FrontSampler
from optimizer.search.study import finished_trials, mark, new_study, params_of_trials, reopened_study, tell_failure

NAMES = ("tuning", "stretch")
FRONT = {"t3": layout("t3"), "t30": layout("t30"), "t88": layout("t88")}


def sampler():
    return FrontSampler(tuple, 1)


def shuffled(path, trials=90, marked_at=60, under_way=4):
    """A journal of trials under way together that end in any order, one in ten of them failed, and its study; marked
    when so many were asked for."""
    study, dice, held = new_study(path, NAMES, sampler(), ({"share": 0.25}, {"share": 0.5})), random.Random(7), []
    for number in range(trials):
        held.append(study.ask())
        held[-1].suggest_float("share", 0.0, 1.0)
        if len(held) > under_way:
            one = held.pop(dice.randrange(len(held)))
            study.tell(one, (number, 1.0)) if number % 10 else tell_failure(study, one, "it went wrong")
        if number == marked_at:
            mark(study, FRONT)
    return study


def plain(path):
    """The study of a journal by Optuna alone."""
    return optuna.load_study(study_name=None, storage=JournalStorage(JournalFileBackend(str(path))))


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """A folder with such a journal and its mark."""
    folder = tmp_path_factory.mktemp("kept")
    shuffled(folder / "journal.log")
    return folder


@pytest.fixture
def journal(kept, tmp_path):
    """A copy of it."""
    return shutil.copytree(kept, tmp_path / "run") / "journal.log"


def known(path):
    """What a search that is taken up knows of its trials: how many it has done, what it asks for next, parameters of
    layouts on the front, and those that are not finished."""
    study = reopened_study(path, NAMES, sampler(), FRONT)
    params = params_of_trials(study)
    unfinished = [one.params for one in study.get_trials(states=(optuna.trial.TrialState.WAITING,))]
    return finished_trials(study), study.ask().number, [dict(params[number]) for number in (3, 30, 88)], unfinished


def test_what_is_taken_up_from_a_mark_is_what_is_read_from_the_beginning(journal):
    by_optuna, before = plain(journal), journal.read_bytes()
    marked = known(journal)
    assert marked[0] == finished_trials(by_optuna)
    assert marked[2] == [by_optuna.trials[number].params for number in (3, 30, 88)]
    journal.write_bytes(before)
    journal.with_suffix(".mark").unlink()
    assert known(journal) == marked


def test_before_its_mark_a_journal_is_not_read_again(journal):
    text, place = journal.read_bytes(), mark_of(journal).place
    assert place.crc32 == zlib.crc32(text[: place.length])
    assert place.lines == text[: place.length].count(b"\n")
    lines = text.splitlines()
    entries = list(Journal(journal).read_logs(0))
    assert len(entries) == 1 + len(lines) - place.lines < 0.5 * len(lines)
    assert 50 <= mark_of(journal).trials <= 60


def test_a_mark_moves_on_when_a_search_was_taken_up(journal):
    study, before = reopened_study(journal, NAMES, sampler(), FRONT), mark_of(journal)
    study.tell(study.ask(), (1.0, 1.0))
    study.ask()
    mark(study, FRONT)
    after, text = mark_of(journal), journal.read_bytes()
    assert after.trials > before.trials + 20
    assert after.place.crc32 == zlib.crc32(text[: after.place.length])
    complete = {one.number for one in plain(journal).trials if one.state == optuna.trial.TrialState.COMPLETE}
    assert after.done == len(complete & set(range(after.trials)))
    assert set(after.params) == {3, 30, 88}


@pytest.mark.parametrize("how", ["a line cut out", "a digit changed", "cut off", "nothing left"])
def test_a_journal_that_is_not_what_it_was_is_told_and_left(journal, how):
    lines = journal.read_bytes().splitlines(keepends=True)
    damaged = {
        "a line cut out": b"".join(lines[:40] + lines[41:]),
        "a digit changed": b"".join([*lines[:40], lines[40].replace(b"1", b"2", 1), *lines[41:]]),
        "cut off": b"".join(lines[:50]),
        "nothing left": b"",
    }[how]
    journal.write_bytes(damaged)
    with pytest.raises(RecordError, match=r"is not what the search wrote: .* or delete .*journal\.mark"):
        mended_journal(journal, 0)
    assert journal.read_bytes() == damaged


def test_a_journal_that_was_cut_off_goes_on_without_its_mark(journal):
    journal.write_bytes(b"".join(journal.read_bytes().splitlines(keepends=True)[:50]))
    journal.with_suffix(".mark").unlink()
    assert mended_journal(journal, 0) == []
    assert finished_trials(reopened_study(journal, NAMES, sampler(), {})) == finished_trials(plain(journal))


@pytest.mark.parametrize("text", ["", "{", '{"trials": -1}', '{"place": {"length": 1e99}}'])
def test_a_broken_mark_is_told_with_what_to_delete(journal, text):
    journal.with_suffix(".mark").write_text(text)
    with pytest.raises(RecordError, match=r"journal\.mark makes no sense; delete it"):
        mended_journal(journal, 0)


def test_a_mark_that_was_changed_anywhere_is_told(journal):
    # Any of these would lose or repeat trials if it passed for what was written: counts are plain numbers.
    file = journal.with_suffix(".mark")
    written = file.read_bytes()
    assert int(written.splitlines()[1], 16) == zlib.crc32(written.splitlines()[0])
    for at in range(len(written)):
        file.write_bytes(written[:at] + bytes([written[at] ^ 1]) + written[at + 1 :])
        with pytest.raises(RecordError, match=r"journal\.mark makes no sense; delete it"):
            mark_of(journal)


def test_a_mark_of_an_older_release_is_read_without_its_check(journal):
    file, found = journal.with_suffix(".mark"), known(journal)
    file.write_bytes(file.read_bytes().splitlines(keepends=True)[0])
    assert known(journal)[0] == found[0]


def test_a_line_broken_after_the_mark_is_told_by_its_number_in_the_file(journal):
    lines = journal.read_bytes().splitlines(keepends=True)
    journal.write_bytes(b"".join([*lines[:-3], b"{oops\n", *lines[-2:]]))
    with pytest.raises(RecordError, match=f"broken at line {len(lines) - 2}; .* delete it from that line on"):
        mended_journal(journal, 0)
    journal.write_bytes(b"".join(lines[:-3]))
    assert mended_journal(journal, 0) == []


def test_a_marked_journal_that_is_gone_is_told(journal, tmp_path):
    create_run(tmp_path / "runs", pipe(PIPE), 1, None, 1, 1)
    folder = only_run(tmp_path / "runs")
    shutil.copy(journal.with_suffix(".mark"), folder)
    with pytest.raises(RecordError, match="is missing or empty, but trials were done"):
        resume(folder, Limits(None, 1, 1, 1), lambda status: None, lambda line: None)


def test_a_journal_that_is_gone_before_any_trial_was_done_begins_anew(tmp_path):
    journal = tmp_path / "journal.log"
    mark(new_study(journal, NAMES, sampler()), ())
    journal.unlink()
    assert new_study(journal, NAMES, sampler()).ask().number == 0
    assert reopened_study(journal, NAMES, sampler(), {}).ask().number == 1


def test_a_damaged_layout_is_told_with_what_to_delete_and_trials_that_a_power_cut_took_with_it_are(tmp_path):
    create_run(tmp_path, pipe(PIPE), 1, None, 1, 1)
    folder, said = only_run(tmp_path), []
    run = read_record(folder / "run.json", RunRecord)
    write_record(folder / "run.json", run.model_copy(update={"trials_done": 3}))
    file = folder / "layouts" / "t000000003.json"
    file.parent.mkdir()
    file.write_text("{")
    for _ in range(2):
        try:
            resume(folder, Limits(None, 1, 1, 1), lambda status: None, said.append)
        except RecordError as error:
            said.append(str(error))
        file.unlink(missing_ok=True)
    damaged, found, gone = said
    assert damaged.startswith(f"{file} cannot be read as JSON: ")
    assert damaged.endswith(". Delete that file, and the run is taken up without that layout")
    assert found.startswith("found 0 finished trials and 0 layouts; ")
    assert gone == f"3 trials that {folder}/run.json counts cannot be found any more, as after a power cut"
