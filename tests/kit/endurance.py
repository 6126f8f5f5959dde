"""A run that is killed again and again at random moments, and what must hold of its folder whenever that is.

After every kill a copy of the folder is taken up in this very process and held against what its journal, read by Optuna
alone, says of all finished trials; the run itself goes on from where it was left.
"""

import os
import random
import shutil
import signal
import time
from contextlib import suppress
from typing import NamedTuple

from optuna.trial import TrialState
from processes import alive, descendants, ended, started, wait_for
from runs import WAYS, finished, only_run, trials, workers_of

from optimizer.project.objectives import OBJECTIVES
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord
from optimizer.records.layout_ids import trial_number
from optimizer.records.run import FrontRecord, RunRecord
from optimizer.search.journal_mark import mark_of
from optimizer.search.runs import resume
from optimizer.search.search_limits import Limits
from optimizer.search.study import AGAIN_OF, FAILED_BY

GONE_WITHIN = 10.0
"""Seconds after which nothing is left of a search whose driver, or whose Ray, was killed."""

KINDS = {
    "the driver itself": ("driver alone",),
    "local workers": ("driver", "worker", "driver and workers"),
    "Ray's workers": ("driver", "worker", "head", "all of Ray", "guard"),
}
"""What is killed, by who solves."""


NAMED = {"head": "/gcs_server ", "all of Ray": "optimizer.search.ray_process", "guard": "optimizer.search.orphans"}
"""What the command of a process that is killed for a kind has in it."""


class Kill(NamedTuple):
    """One kill: finished trials on disk before it and after the folder was taken up, those lost and those done twice,
    processes left, what else was wrong, and seconds until the search, or nothing, went on."""

    kind: str
    before: int
    after: int
    lost: int
    repeated: int
    left: int
    wrong: list[str]
    seconds: float


class Endured:
    """A run, begun anew or taken up by turns in each of some ways, that is killed by dice."""

    def __init__(self, project, place, ways, dice, pause=1.0):
        self.project, self.place, self.ways, self.dice, self.pause = project, place, ways, dice, pause
        self.process, self.way = None, ""

    def killed(self):
        """Kill something at a random moment, and look at what there is."""
        if self.process is None:
            self._begin()
        kind = self.dice.choice(KINDS[self.way])
        assert wait_for(lambda: self._victims(kind)), f"no {kind} to kill"
        time.sleep(self.dice.uniform(0.0, self.pause))
        folder, below = only_run(self.place), set(descendants(self.process.pid))
        before, victims, begun = finished(folder), wait_for(lambda: self._victims(kind)), time.monotonic()
        for pid in victims:
            with suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
        wrong = [] if kind in ("worker", "guard") else self._over(kind)
        gone = victims if self.process else below
        wait_for(lambda: not alive(gone), GONE_WITHIN)
        left, seconds = len(alive(gone)), time.monotonic() - begun
        if self.process is not None:
            self._goes_on(kind, set(victims), len(before))
        after, lost, repeated, faults = looked_at(self._image(folder), before)
        return Kill(kind, len(before), after, lost, repeated, left, wrong + faults, seconds)

    def held(self, kind, seconds):
        """Hold the driver, or one of its workers, still for so long at a random moment, and look at what there is."""
        if self.process is None:
            self._begin()
        assert wait_for(lambda: self._victims(kind)), f"no {kind} to hold"
        time.sleep(self.dice.uniform(0.0, self.pause))
        folder, (victim, *_) = only_run(self.place), wait_for(lambda: self._victims(kind))
        before = finished(folder)
        os.kill(victim, signal.SIGSTOP)
        time.sleep(seconds)
        meanwhile, begun = finished(folder), time.monotonic()
        os.kill(victim, signal.SIGCONT)
        assert wait_for(lambda: len(finished(folder)) > len(meanwhile) + 2)
        seconds, left = time.monotonic() - begun, 0 if self.process.poll() is None else 1
        after, lost, repeated, faults = looked_at(self._image(folder), before)
        return Kill(f"{kind} held still", len(before), after, lost, repeated, left, faults, seconds)

    def close(self):
        """End the run, if it goes on, as a termination request does; what is wrong then."""
        if self.process is None:
            return []
        below = set(descendants(self.process.pid))
        self.process.send_signal(signal.SIGTERM)
        code, _, err = ended(self.process)
        wait_for(lambda: not alive(below), GONE_WITHIN)
        return ([] if code == 0 else [err]) + ["processes are left"] * bool(alive(below))

    def _begin(self):
        self.way = self.dice.choice(self.ways)
        options, environment, _ = WAYS[self.way]
        folders = [path for path in self.place.glob("*") if (path / "run.json").exists()]
        words = ("resume", *folders) if folders else ("search", self.project, "--results", self.place)
        before = len(finished(folders[0])) if folders else 0
        self.process = started(*words, "--minutes", "60", "--no-report", *options, **environment)
        assert wait_for(lambda: any(len(finished(path)) > before for path in self.place.glob("*"))), "no trial more"

    def _victims(self, kind):
        """Processes to kill; none before they are there."""
        below = descendants(self.process.pid)
        if kind in ("driver", "driver alone"):
            return [self.process.pid]
        if kind == "driver and workers":
            return [self.process.pid, *below]
        if kind == "worker":
            return random.sample(workers_of(self.process), 1) if workers_of(self.process) else []
        found = [pid for pid, line in below.items() if NAMED[kind] in line]
        if not workers_of(self.process):  # Ray still starts
            return []
        return [*found, *descendants(found[0])] if kind == "all of Ray" and found else found

    def _over(self, kind):
        """Wait for the driver's end; what is wrong with how it told of it."""
        code, _, err = ended(self.process)
        self.process = None
        if kind not in ("head", "all of Ray"):
            return []
        told = code == 2 and "Traceback" not in err and "goes on from there" in err
        return [] if told else [f"ended with code {code}: {err}"]

    def _goes_on(self, kind, before, done):
        """Wait until what was killed is there anew, and another trial is done."""
        folder = only_run(self.place)
        assert wait_for(lambda: set(self._victims(kind)) - before, 60), f"no {kind} anew"
        assert wait_for(lambda: len(finished(folder)) > done)

    def _image(self, folder):
        """A copy of the folder as a power cut would leave it, with the driver held still meanwhile."""
        image = self.place.parent / f"{self.place.name}-image"
        shutil.rmtree(image, ignore_errors=True)
        if self.process is not None:
            os.kill(self.process.pid, signal.SIGSTOP)
        try:
            return shutil.copytree(folder, image)
        finally:
            if self.process is not None:
                os.kill(self.process.pid, signal.SIGCONT)


def looked_at(folder, before):
    """Take up a killed run for one trial more: how many trials are finished, how many of those before are lost, how
    many were done twice, what else is wrong."""
    whole = {trial_number(path.stem) for path in (folder / "layouts").glob("*.json")}
    resume(folder, Limits(None, 1, 1, 1), lambda status: None, lambda line: None)
    found = trials(folder)
    complete = {one.number: one.values for one in found if one.state == TrialState.COMPLETE}
    lost = sum(complete.get(number) != values for number, values in before.items()) + len(whole - set(complete))
    repeated = len(complete) - len(set(_told(found))) + len(finished(folder).keys() ^ set(complete))
    return len(complete), lost, repeated, [*_unsettled(found), *_front_faults(folder, found)]


def _told(found):
    """Of every finished trial what it was asked as: the first of those it stands for, or what was queued at first."""
    first = {}
    for one in found:
        first[one.number] = first.get(one.user_attrs.get(AGAIN_OF), one.number)
        if one.state == TrialState.COMPLETE:
            queued = one.system_attrs.get("fixed_params") if first[one.number] == one.number else None
            yield tuple(sorted(queued.items())) if queued else first[one.number]


def _unsettled(found):
    """Trials that are neither finished nor told to be solved again."""
    again = {one.user_attrs.get(AGAIN_OF) for one in found}
    for one in found:
        given_up = one.state == TrialState.FAIL and FAILED_BY not in one.user_attrs and one.params
        if one.state == TrialState.RUNNING or (given_up and one.number not in again):
            yield f"trial {one.number} is neither finished nor waiting"


def _front_faults(folder, found):
    """How a folder differs from the front of its finished trials, which is found here by looking at all pairs."""
    front, run = read_record(folder / "pareto.json", FrontRecord), read_record(folder / "run.json", RunRecord)
    complete = {one.number: one for one in found if one.state == TrialState.COMPLETE}
    expected = whole_front(complete, front.thinned_to)
    if {trial_number(entry.id) for entry in front.layouts} != expected:
        yield f"the front is {[entry.id for entry in front.layouts]} and not of trials {sorted(expected)}"
    if {path.stem for path in (folder / "layouts").iterdir()} != {entry.id for entry in front.layouts}:
        yield "there are other layouts than those of the front"
    for entry in front.layouts:
        objectives = read_record(folder / entry.file, LayoutRecord).objectives
        if [objectives[name] for name in front.objectives] != complete[trial_number(entry.id)].values:
            yield f"{entry.id} is not what its trial came to"
    mark = mark_of(folder / "journal.log")
    known = mark.params.keys() | range(mark.trials, len(found))
    if not expected <= known:
        yield f"nothing is known any more of how trials {sorted(expected - known)} were asked"
    if list(folder.rglob("*.part")):
        yield "half a file is left"
    if run.trials_done != len(complete):
        yield f"run.json tells of {run.trials_done} trials, {len(complete)} are finished"


def whole_front(complete, thinned_to):
    """Numbers of the trials that the front must hold: of every box that no other dominates the one of least sum, and
    the best in the first objective; the trial nearest to keeping its limits where none keeps them."""
    broken = {number: _broken(one) for number, one in complete.items()}
    names, widths, boxes = list(thinned_to), list(thinned_to.values()), {}
    for number, one in complete.items():
        if max(broken[number]) <= 0.0:
            box = tuple(int(value // width) for value, width in zip(one.values, widths, strict=True))
            rank = sum(value / width for value, width in zip(one.values, widths, strict=True)), number
            boxes.setdefault(box, []).append((rank, one.values[0] // OBJECTIVES[names[0]].resolution))
    if not boxes:
        return {min(complete, key=lambda number: (broken[number], number))}
    beaten = {
        box for box in boxes for other in boxes
        if other != box and all(mine >= its for mine, its in zip(box, other, strict=True))
    }  # fmt: skip
    first = min((step, rank) for those in boxes.values() for rank, step in those)[1]
    return {first[1], *(min(those)[0][1] for box, those in boxes.items() if box not in beaten)}


def _broken(trial):
    """By how much a trial broke what must hold: wrong notes, millimetres."""
    return tuple(trial.system_attrs[f"constraints:{name}"] for name in ("wrong_notes", "violation_mm"))
