"""What must hold of searches that lose Ray."""

import time

from processes import alive, descendants, ended, wait_for

from optimizer.records.files import read_record
from optimizer.records.run import FrontRecord, RunRecord

TOLD_WITHIN = 30
"""Seconds within which a search whose Ray died has ended."""


def lose(what, searches):
    """Folder, last sentence and all messages of searches, process by place, that lose Ray by what is done to it: ended
    in time, with intact folders and nobody left."""
    begun, below = time.monotonic(), {pid for process in searches.values() for pid in descendants(process.pid)}
    what()
    found = []
    for place, process in searches.items():
        code, out, err = ended(process, seconds=120)
        assert time.monotonic() - begun < TOLD_WITHIN
        assert code == 2, err
        assert "Traceback" not in out + err
        lines = err.splitlines()
        assert lines[-2] == "the search could not go on"
        folder = next(place.iterdir())
        run = read_record(folder / "run.json", RunRecord)
        assert (run.ended_by, run.pool) == ("error", "ray")
        assert read_record(folder / "pareto.json", FrontRecord).layouts
        assert not list(folder.rglob("*.part"))
        found.append((folder, " ".join(lines[-1].split()), err))
    assert wait_for(lambda: not alive(below), 10)
    return found
