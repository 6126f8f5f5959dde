"""Ways to solve a search's trials that tests go through, and what its run folder's journal says of them."""

import json
from typing import NamedTuple

from optuna.trial import TrialState
from processes import descendants

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
