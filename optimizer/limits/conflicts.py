"""Limits that cannot all be kept: the smallest set of them that could be found, and what relieves each.

All limits and ranges are looked at together, without sound, from several starts and with several ways of choosing what
no gradient chooses. Where none leaves room, limits that are broken together are gathered until they alone leave no
room; then each is let go of for good that is not needed for that (a deletion filter). What is left is irreducible: let
go of any one of it, and the others leave room. Source: Chinneck, *Feasibility and Infeasibility in Optimization*
(2008), chapters 6 and 7. As the limits are not convex, all of this is what was found, and no proof.

Limits alone take a few milliseconds a look. Only `project.impossible` proves anything.
"""

import time
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from optimizer.geometry.choices import Choices, open_covers, plain_choices
from optimizer.geometry.layout import Choice
from optimizer.limits.feasibility import KEPT_MM, Rest, Room
from optimizer.project.chart import ChartNote
from optimizer.project.loading import LoadedProject
from optimizer.project.model import Project

STARTS, MORE_STARTS = 8, 4
WAYS = 6
MOST_CONFLICTS = 3
SECONDS = 12.0
"""A look for conflicts takes no longer than about this."""


@dataclass(frozen=True)
class Member:
    """One limit of a conflict: by how much it alone would have to give for every other limit of the project to be kept,
    and for the others of the conflict to be kept; None where no such amount was found. [mm], scales as they are."""

    name: str
    sentence: str
    alone_mm: float | None
    within_mm: float | None


@dataclass(frozen=True)
class Conflict:
    """Limits of which any one may go, but not all be kept: how far the least broken one is broken together [mm]."""

    members: tuple[Member, ...]
    least_mm: float


@dataclass(frozen=True)
class Verdict:
    """What a look came to. least_mm: the least violation found; complete: whether the looks had time to finish."""

    least_mm: float
    ways: int
    starts: int
    conflicts: tuple[Conflict, ...] = ()
    complete: bool = True

    @property
    def room(self) -> bool:
        """Whether a layout was found that keeps every limit."""
        return self.least_mm <= KEPT_MM


def ways_of_choosing(project: Project, notes: list[ChartNote]) -> list[Choices]:
    """The plain way, and a few others: all open covers bare, more joints, joints elsewhere."""
    plain = plain_choices(project, notes)
    ways = [plain]
    if open_covers(project):
        ways.append(plain._replace(plates=()))
    if project.sections is not None:
        few, most = project.sections.joints
        shares = [(share,) * count for count in range(few, most + 1) for share in (0.5, 0.2, 0.8)]
        ways += [plain._replace(joints=joints) for joints in shares]
    return list(dict.fromkeys(ways))[:WAYS]


def verdict_on(loaded: LoadedProject, seconds: float = SECONDS) -> Verdict:
    """Whether a project's limits and ranges leave room, and if not, which of them conflict.

    Parameters
    ----------
    loaded : the project
    seconds : how long the look for conflicts may take [s]
    """
    room, ways = Room(loaded.project), ways_of_choosing(loaded.project, loaded.notes)
    room.limits(*room.begin(ways[0], 0))
    look = Look(room, ways, time.monotonic() + seconds)
    least: tuple[Rest, Choice] | None = None
    for choices in ways:
        for seed in range(STARTS):
            start, choice = room.begin(choices, seed)
            found = room.least(start, choice, look.all)
            if least is None or found.soft_mm < least[0].soft_mm:
                least = found, choice
            if found.kept:
                return Verdict(found.soft_mm, len(ways), STARTS)
    assert least is not None
    conflicts = tuple(look.conflicts(*least))
    return Verdict(least[0].soft_mm, len(ways), STARTS, conflicts, not look.late)


class Look:
    """Looks at parts of a room's limits until a deadline."""

    def __init__(self, room: Room, ways: list[Choices], deadline: float) -> None:
        self.room, self.ways, self.deadline = room, ways, deadline
        self.all = np.arange(room.count)
        self.none = np.zeros(room.low.size, bool)

    @property
    def late(self) -> bool:
        """Whether the deadline has passed."""
        return time.monotonic() > self.deadline

    def conflicts(self, rest: Rest, choice: Choice) -> Iterator[Conflict]:
        """Conflicts one after another, each among the limits that the earlier ones leave."""
        left = self.all
        for _ in range(MOST_CONFLICTS):
            found = self._gathered(rest, choice, left)
            if found is None:
                return
            rows, least = self._thinned(found[0], choice, found[1])
            ranges = self._ranges(rows, choice, least)
            if self.late and len(rows) > 12:
                return
            members = [self._member(row, rows) for row in rows]
            members += [self._range_member(number, rows) for number in ranges]
            yield Conflict(tuple(members), least.soft_mm)
            left = np.setdiff1d(left, rows)
            rest = self._best(left, choice, least.x)
            if rest.kept:
                return

    def _best(self, rows: np.ndarray, choice: Choice, x: np.ndarray, opened: np.ndarray | None = None) -> Rest:
        """The least violation of some limits from x (n,) and a few starts around it; the first that keeps them all."""
        best = self.room.least(x, choice, rows, opened=opened)
        dice = np.random.default_rng(0)
        for _ in range(MORE_STARTS):
            if best.kept:
                break
            start = x + dice.standard_normal(x.size) * dice.choice([1.0, 4.0, 12.0])
            found = self.room.least(start, choice, rows, opened=opened)
            best = found if found.soft_mm < best.soft_mm else best
        return best

    def _gathered(self, rest: Rest, choice: Choice, left: np.ndarray) -> tuple[np.ndarray, Rest] | None:
        """Limits that leave no room, from those broken most: more are taken in as long as the ones taken are kept."""
        taken = np.empty(0, int)
        for _ in range(self.all.size):
            values = rest.limits[left]
            worst = float(np.max(values, initial=0.0))
            if worst <= KEPT_MM:
                return None
            more = left[values >= max(0.9 * worst - 1e-3, KEPT_MM)]
            taken = np.union1d(taken, more)
            rest = self._best(taken, choice, rest.x)
            if not rest.kept:
                return taken, rest
        return None

    def _thinned(self, rows: np.ndarray, choice: Choice, rest: Rest) -> tuple[np.ndarray, Rest]:
        """Limits of which none can be spared, by trying without each in turn."""
        for row in sorted(rows, key=lambda row: rest.limits[row]):
            if self.late:
                break
            fewer = rows[rows != row]
            found = self._best(fewer, choice, rest.x)
            if not found.kept:
                rows, rest = fewer, found
        return rows, rest

    def _ranges(self, rows: np.ndarray, choice: Choice, rest: Rest) -> list[int]:
        """Numbers of the ranges that belong to the conflict of limits (k,): those that cannot all be left open."""
        room = self.room
        held = np.minimum(rest.x - room.low, room.high - rest.x) < 1e-6
        opened = ~held
        if not self._no_room(rows, choice, rest.x, opened):
            opened = self.none.copy()
        for number in range(room.low.size):
            if opened[number] or self.late:
                continue
            more = opened.copy()
            more[number] = True
            if self._no_room(rows, choice, rest.x, more):
                opened = more
        return [int(number) for number in np.flatnonzero(~opened)]

    def _no_room(self, rows: np.ndarray, choice: Choice, x: np.ndarray, opened: np.ndarray) -> bool:
        return not self._best(rows, choice, x, opened).kept

    def _member(self, row: int, rows: np.ndarray) -> Member:
        soft = np.array([row])
        whole, within = (self._alone(soft, np.setdiff1d(hard, soft), self.none) for hard in (self.all, rows))
        return Member(self.room.names[row], self.room.sentences[row], whole, within)

    def _range_member(self, number: int, rows: np.ndarray) -> Member:
        room, opened = self.room, self.none.copy()
        opened[number] = True
        ends = np.array([room.count + number, room.count + room.low.size + number])
        whole, within = (self._alone(ends, hard, opened) for hard in (self.all, rows))
        return Member(room.names[ends[0]], room.sentences[ends[0]], whole, within)

    def _alone(self, soft: np.ndarray, hard: np.ndarray, opened: np.ndarray) -> float | None:
        """How much the soft limits must give for the hard ones to be kept [mm]; None where no amount was found."""
        room, amounts = self.room, []
        for choices in self.ways:
            for seed in range(MORE_STARTS):
                start, choice = room.begin(choices, seed)
                kept = room.least(start, choice, hard, opened=opened)
                if kept.kept:
                    amounts.append(room.least(kept.x, choice, soft, hard, opened).soft_mm)
                if self.late:
                    break
        return min(amounts, default=None)


def sentences_of(verdict: Verdict) -> list[str]:
    """A verdict without room in plain sentences."""
    looked = f"{verdict.starts} starts" + (f" in each of {verdict.ways} ways of choosing" if verdict.ways > 1 else "")
    lines = [
        f"no layout was found that keeps all limits, from {looked}; the nearest one breaks a limit by "
        f"{verdict.least_mm:.2f} mm (this is what was found, and no proof)"
    ]
    for number, conflict in enumerate(verdict.conflicts, start=1):
        named = f"conflict {number}" if len(verdict.conflicts) > 1 else "the conflict"
        count = len(conflict.members)
        these = f"these {count} cannot all be kept; without any one of them the rest of them can"
        lines.append(f"{named}: {these if count > 1 else 'this one cannot be kept, whatever else gives'}")
        lines += [f"  {member.name}: {member.sentence}; {_relief(member)}" for member in conflict.members]
    if not verdict.conflicts or not verdict.complete:
        lines.append("there was no time to find out " + ("all of what conflicts" if verdict.conflicts else "which"))
    return lines


def _relief(member: Member) -> str:
    kinds = {"scale": "", "cm3": " cm3", "deg": " deg"}
    unit = kinds.get(member.name.rpartition("_")[2], " mm") if member.name.startswith("range.") else " mm"
    if member.alone_mm is not None:
        return f"it alone would have to give {member.alone_mm:.2f}{unit}"
    if member.within_mm is not None:
        return f"it would have to give {member.within_mm:.2f}{unit}, and other limits too"
    return "to let this go alone is not enough"


def conflict_lines(loaded: LoadedProject, seconds: float = SECONDS) -> list[str]:
    """What stands in the way of every layout of a project, in plain sentences; nothing where one keeps all limits.

    Parameters
    ----------
    loaded : the project
    seconds : how long the look for conflicts may take [s], `SECONDS` at most
    """
    verdict = verdict_on(loaded, min(seconds, SECONDS))
    return [] if verdict.room else sentences_of(verdict)
