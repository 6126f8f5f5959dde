"""Ways to solve a search's trials that tests go through, and what its run folder's journal says of them."""

import json
from typing import NamedTuple

import optuna
from optuna.storages import JournalStorage
from optuna.storages.journal import JournalFileBackend
from optuna.trial import TrialState
from processes import descendants

from optimizer.records.files import read_record
from optimizer.records.run import ProgressRecord

ON_RAY = {"RAY_ADDRESS": "local"}


class Way(NamedTuple):
    """Who solves: options of the command, changes to its environment, and what run.json calls it."""

    options: tuple
    environment: dict
    pool: str


WAYS = {
    "the driver itself": Way(("--workers", "1"), {}, "local"),
    "local workers": Way(("--workers", "2"), {}, "local"),
    "Ray's workers": Way(("--workers", "1"), ON_RAY, "ray"),
}

ALONE = ("the driver itself", "local workers")
"""Those without Ray, which takes long to start."""


def only_run(results):
    """The one run folder in a results folder."""
    (folder,) = [path for path in results.iterdir() if path.is_dir()]
    return folder


def finished(folder):
    """Numbers and values of the trials that the journal calls complete, straight from its lines."""
    kept, journal = {}, folder / "journal.log"
    for line in journal.read_text().splitlines() if journal.exists() else ():
        try:
            entry = json.loads(line)
        except json.JSONDecodeError:
            break  # cut off by the kill
        if entry["op_code"] == 6 and entry.get("state") == TrialState.COMPLETE:
            assert entry["trial_id"] not in kept, "a finished trial was told twice"
            kept[entry["trial_id"]] = entry["values"]
    return kept


def progress(place):
    """How far the run below a folder is; None before there is one."""
    (path,) = list(place.glob("*/progress.json")) or [None]
    return read_record(path, ProgressRecord) if path else None


def done(place):
    """How many trials the run below a folder has finished."""
    return progress(place).trials_done if progress(place) else 0


def trials(folder):
    """Every trial in the journal, as Optuna reads it."""
    storage = JournalStorage(JournalFileBackend(str(folder / "journal.log")))
    return optuna.load_study(study_name=None, storage=storage).get_trials()


def states(folder):
    """Number and state of every trial in the journal."""
    return {trial.number: trial.state for trial in trials(folder)}


def in_state(folder, state):
    """Numbers of the trials in a state."""
    return {number for number, found in states(folder).items() if found == state}


def workers_of(process):
    """Processes that solve for a search, of either kind."""
    return workers_below(process.pid)


def workers_below(pid):
    """Processes that solve, below a process that may have others."""
    below = descendants(pid)
    return [
        pid
        for pid, line in below.items()
        if "optimizer.search.worker_process" in line or line.startswith("ray::Solver")
    ]
