"""What must hold of searches that a signal ends."""

import os
import signal

from processes import alive, descendants, ended, wait_for
from runs import finished, only_run

from optimizer.commands.cli import main
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord
from optimizer.records.run import FrontRecord, RunRecord


def layouts(folder):
    """The front of a run: id to objectives and geometry."""
    found = {}
    for entry in read_record(folder / "pareto.json", FrontRecord).layouts:
        record = read_record(folder / entry.file, LayoutRecord)
        found[entry.id] = (record.objectives, record.holes, record.bore, record.reed)
    return found


def interrupted(process, how, place, most):
    """Exit code and messages of a search that is ended by a signal: at once, taking in at most so many more trials,
    with nobody left."""
    below = set(descendants(process.pid))
    os.kill(process.pid, signal.SIGSTOP)  # so that it takes in none between the count and the signal
    before = len(finished(only_run(place)))
    if how == signal.SIGINT:  # Ctrl-C reaches the whole process group, as in a terminal
        os.killpg(process.pid, how)
    else:
        process.send_signal(how)
    os.kill(process.pid, signal.SIGCONT)
    code, _, err = ended(process)
    assert len(finished(only_run(place))) - before <= most
    assert wait_for(lambda: not alive(below), 10)
    return code, err


def whole_after(how, place, pool, capsys):
    """A run folder is whole after a signal, and says what ended it."""
    folder = only_run(place)
    run = read_record(folder / "run.json", RunRecord)
    assert run.ended_by == {signal.SIGINT: "interrupt", signal.SIGTERM: "termination"}[how]
    assert run.pool == pool
    assert run.finished is not None
    assert run.trials_done >= 1
    assert layouts(folder)
    assert not list(folder.rglob("*.part"))
    assert main(["show", str(folder)]) == 0
    assert f"ended by {run.ended_by}" in capsys.readouterr().out
