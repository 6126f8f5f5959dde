"""A disk that fails at any of its writes ends a search with a sentence, costs nothing that was finished, and the search
goes on from there once there is room."""

import random
import shutil

import pytest
from endurance import looked_at
from failing_disk import FULL, READ_ONLY, failing
from runs import finished
from shelf import PIPE, pipe

from optimizer.search.runs import Limits, SearchError, resume, search
from optimizer.search.sampler import FrontSampler
from optimizer.search.study import finished_trials, new_study, reopened_study

FIRST = {FULL: "safe in it; make room", READ_ONLY: "safe in it, but perhaps for the last second's; see to the disk"}
TRIALS, MOMENTS = Limits(None, 2, 1, 1), 3


def silent(_):
    """Nobody watches."""


@pytest.fixture(scope="module")
def begun(tmp_path_factory):
    """The folder of a run that has begun."""
    return search(pipe(PIPE), TRIALS, tmp_path_factory.mktemp("begun"), silent).path


@pytest.mark.parametrize("how", [FULL, READ_ONLY])
def test_a_disk_that_fails_at_any_write_costs_nothing_that_was_finished(how, begun, tmp_path, monkeypatch):
    folder = shutil.copytree(begun, tmp_path / "counted")
    with failing(monkeypatch, folder, None, how) as disk:
        resume(folder, TRIALS, silent, silent)
    for fails_at in sorted(random.Random(how).sample(range(disk.writes), MOMENTS)):
        folder = shutil.copytree(begun, tmp_path / str(fails_at))
        with failing(monkeypatch, folder, fails_at, how), pytest.raises(SearchError) as raised:
            resume(folder, TRIALS, silent, silent)
        assert f"{folder} cannot be written to: " in str(raised.value)
        assert f"{FIRST[how]}, then `holewright resume {folder}`" in str(raised.value)
        _, lost, repeated, wrong = looked_at(folder, finished(begun) | finished(folder))
        assert (lost, repeated, wrong) == (0, 0, []), fails_at


def test_a_trial_that_a_kill_left_half_told_is_told_from_its_layout_without_a_warning(tmp_path, record):
    journal = tmp_path / "journal.log"
    study = new_study(journal, ("tuning", "stretch"), FrontSampler(tuple, 1))
    study.ask().set_constraint("violation_mm", record.violation_mm)
    again = reopened_study(journal, ("tuning", "stretch"), FrontSampler(tuple, 1), {"t0": record})
    assert finished_trials(again) == (1, 0)
