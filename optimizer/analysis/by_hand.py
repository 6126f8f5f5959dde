"""A layout whose numbers are moved by hand: judged as any layout is, the others settled again, kept with its parentage.

What may be moved is what the project leaves free, within its ranges; choices stay as the layout has them, but for the
side of a joint on which a hole lies.
"""

from collections.abc import Collection, Mapping

import numpy as np

from optimizer.analysis.as_saved import as_saved, choices_of, record_joints
from optimizer.geometry.layout import STEP, Layout
from optimizer.project.faults import Fault
from optimizer.records.layout import LayoutRecord
from optimizer.records.moved import FreeNumber, MovedLayout
from optimizer.records.parentage import MovedNumber, Parentage
from optimizer.solving.assemble import assemble, rounded
from optimizer.solving.fitting import TUNING
from optimizer.solving.judged import judge
from optimizer.solving.linearised import Emphasis
from optimizer.solving.problem import Problem
from optimizer.solving.stock import solve
from optimizer.words import counted

STEPS = 24
"""So many quadratic programmes at most, before it is told how far a layout has settled."""


class MoveError(Fault):
    """Numbers that cannot be moved so."""


class ByHand:
    """A layout whose numbers may be moved.

    Attributes
    ----------
    record : the layout
    names : of the numbers that may be moved: those free in the project, but for touches and joints that it lacks

    Parameters
    ----------
    problem : of the project that the layout was made for; any number of layouts may share it
    record : the layout

    Raises
    ------
    MoveError
        when the layout was made for other holes than the project's
    """

    def __init__(self, problem: Problem, record: LayoutRecord) -> None:
        if [hole.id for hole in record.holes] != [hole.id for hole in problem.project.holes]:
            raise MoveError(f"layout {record.id} has other holes than the run's project, so none can be moved in it")
        self.record, self._all = record, problem.parametrisation.names
        self._plain, self._choices, self._joints = problem, choices_of(problem.loaded, record), record_joints(record)
        posed, self._x = as_saved(problem, record)
        self._was = self._numbers(rounded(posed, self._x))
        bare = [f"touch_offset_mm.{hole.id}" for hole in record.holes if hole.cover != "plate"]
        unused = [f"joint_mm.{number + 1}" for number in range(len(self._joints), posed.choice.joint_used.size)]
        self.names = tuple(name for name in self._all if name not in {*bare, *unused})

    def moved(self, changes: Mapping[str, float]) -> MovedLayout:
        """The layout with some numbers changed.

        Parameters
        ----------
        changes : values by the numbers' names; one beyond its range is taken to its end

        Raises
        ------
        MoveError
            for a number that the project does not leave free
        """
        return self._judged(*self._at(changes))

    def settled(self, changes: Mapping[str, float], held: Collection[str], steps: int = STEPS) -> MovedLayout:
        """The layout with some numbers changed, and the others solved again, by what the layout was solved for.

        Parameters
        ----------
        changes : values by the numbers' names
        held : names of the numbers that stay
        steps : so many quadratic programmes at most; where these do not do, ask again from what they came to

        Raises
        ------
        MoveError
            for a number that the project does not leave free
        """
        self._known(held)
        problem, x = self._at(changes)
        free = np.array([name not in held for name in self._all], bool)
        if set(self.names) <= set(held):
            return self._judged(problem, x).model_copy(update={"settled": True})
        outcome = solve(problem, x, self._emphasis, steps, free)
        return self._judged(problem, outcome.x).model_copy(update={"settled": outcome.settled})

    def kept(self, changes: Mapping[str, float], moved: Collection[str], layout_id: str) -> LayoutRecord:
        """The record of the layout with some numbers changed, and with its parentage.

        Parameters
        ----------
        changes : values by the numbers' names
        moved : names of those that were moved by hand; the others followed
        layout_id : the record's name

        Raises
        ------
        MoveError
            for a number that the project does not leave free, and where none is changed
        """
        self._known(moved)
        problem, x = self._at(changes)
        now = self._numbers(rounded(problem, x))
        differ = [MovedNumber(name=n, was=self._was[n], now=now[n]) for n in self.names if now[n] != self._was[n]]
        if not differ:
            raise MoveError(f"nothing differs from layout {self.record.id}; move something before it is kept")
        parentage = Parentage(
            layout=self.record.id,
            moved=[each for each in differ if each.name in moved],
            followed=[each for each in differ if each.name not in moved],
        )
        provenance: dict[str, str | int | float] = {"by_hand_from": self.record.id}
        provenance |= {f"emphasis_{name}": value for name, value in self._emphasis._asdict().items()}
        return assemble(problem, x, layout_id, provenance).model_copy(update={"parentage": parentage})

    @property
    def _emphasis(self) -> Emphasis:
        """What the layout was solved for; tuning where nothing tells."""
        told = {name: self.record.provenance.get(f"emphasis_{name}") for name in Emphasis._fields}
        known = {name: float(value) for name, value in told.items() if isinstance(value, int | float)}
        return Emphasis(**known) if known else TUNING

    def _at(self, changes: Mapping[str, float]) -> tuple[Problem, np.ndarray]:
        """The problem with the layout's choices, and its x (n,) with some numbers changed."""
        self._known(changes)
        coding, x = self._plain.parametrisation, self._x.copy()
        for number, name in enumerate(self._all):
            if name in changes:
                x[number] = changes[name] / _step(name)
        x = np.clip(x, coding.low, coding.high)
        joints = np.asarray(coding.layout(x).joint_mm)[: len(self._joints)]
        return self._plain.chosen(self._choices, x, list(joints))

    def _known(self, names: Collection[str]) -> None:
        strange = sorted(set(names) - set(self.names))
        if strange:
            more = f" (and {counted(len(strange) - 1, 'other')})" if len(strange) > 1 else ""
            raise MoveError(f"{strange[0]}{more} is no number that may be moved here")

    def _judged(self, problem: Problem, x: np.ndarray) -> MovedLayout:
        layout, coding = rounded(problem, x), problem.parametrisation
        found, value = judge(problem, layout, in_haste=True), self._numbers(layout)
        step = np.array([_step(name) for name in self._all])
        ends = zip(self._all, *(np.round(end * step, 6).tolist() for end in (coding.low, coding.high)), strict=True)
        return MovedLayout(
            numbers=[
                FreeNumber(name=name, value=value[name], least=low, most=high)
                for name, low, high in ends
                if name in self.names
            ],
            bore_mm=found.bore.points_mm,
            holes=found.holes,
            pieces=found.pieces,
            notes=found.notes,
            reach=found.reach,
            objectives=found.objectives,
            feasible=found.feasible,
            margins_mm=found.margins_mm,
            binds=found.binds,
        )

    def _numbers(self, layout: Layout) -> dict[str, float]:
        """The free numbers of a layout by their names."""
        found = np.zeros(len(self._all))
        for name, entries, places in self._plain.parametrisation.slots:
            found[places] = np.atleast_1d(np.asarray(getattr(layout, name), float))[entries]
        return dict(zip(self._all, map(float, found), strict=True))


def _step(name: str) -> float:
    return STEP[name.partition(".")[0]]
