"""Which layouts of a front to begin with: one for each role, by a rule that the order of the front does not touch.

A role narrows the front by one criterion after the other: whoever lies within what counts as the same from the least
stays. What is left then is decided by nearness to the best of everything, and last by the layout's number.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import get_args

from optimizer.project.objectives import OBJECTIVES, UNITS
from optimizer.records.files import Beside
from optimizer.records.layout_ids import numbered
from optimizer.records.recommendation import PickRecord, RecommendationRecord, Role
from optimizer.records.run import FrontEntry, FrontRecord
from optimizer.words import counted, listed

JUST = 1e-9
"""A difference of a whole step counts as one, however its last digits were rounded."""

ROLES: tuple[Role, ...] = get_args(Role)
COUNTS = {"joints": ("joint", ""), "plates": ("plate", ""), "to_settle": ("thing", " to settle")}
"""What there is to make of a layout, by its name in the front: one of it in words, and what follows them."""

COMPROMISE, IN_TUNE, IN_REACH, SIMPLEST = ROLES
SHADED_CENTS = 5.0
"""Further than this from the least tuning a layout is no instrument to begin with, whatever else it is best at: about
so much a player shades without a thought (common practice, no source)."""

TUNED_CENTS = 10.0
"""Layouts further out of tune, root mean square, are not called in tune, only nearest to it: twice what a player shades
without a thought (common practice, no source)."""

RULES: dict[Role, str] = {
    COMPROMISE: "nearest to the best of every objective at once, each as a share of its reference; "
    f"as every role, only of layouts within {SHADED_CENTS:g} cents of the least tuning",
    IN_TUNE: "least tuning, then nearest",
    IN_REACH: "least stretch, then nearest",
    SIMPLEST: "fewest joints, then fewest plates and things to settle, then least unevenness, then nearest",
}


BEST_AT: dict[Role, tuple[str, str, str]] = {
    IN_TUNE: ("tuning", "most in tune", "among the most in tune"),
    IN_REACH: ("stretch", "hands least stretched", "hands among the least stretched"),
}
"""The objective of a role, and what is said of its best, and of a layout that is the same as that."""


def recommended(front: FrontRecord) -> RecommendationRecord:
    """The recommendation of a front. Layouts are the same within the widths that it was thinned to, and in other
    objectives within their resolution.

    Parameters
    ----------
    front : with the counts of its layouts (`FrontRecord.counted`)
    """
    same = {name: row.resolution for name, row in OBJECTIVES.items()} | dict(front.thinned_to)
    entries = _playable(front.layouts) if front.feasible else []
    choice = _Choice(entries, [name for name in front.objectives if name in OBJECTIVES], same, len(front.layouts))
    chosen, left_out = choice.by_role()
    found = {entry.id: entry for entry in chosen.values()}
    told = {*choice.sought, "tuning", "stretch", "unevenness"} if entries else set()
    return RecommendationRecord(
        instrument=front.instrument,
        of_layouts=len(front.layouts) if front.feasible else 0,
        same_within={name: same[name] for name in UNITS if name in told},
        rules=RULES,
        picks=[
            _pick(entry, [role for role, one in chosen.items() if one.id == entry.id], chosen[COMPROMISE], choice)
            for entry in found.values()
        ],
        left_out=left_out,
    )


def recommendation_of(front: FrontRecord, beside: Beside) -> RecommendationRecord:
    """The recommendation of a run's front, what older fronts do not say taken from the files of their layouts.

    Parameters
    ----------
    front : as it is in the run folder
    beside : reads what lies beside it
    """
    return recommended(front.counted(beside) if front.feasible else front)


Criterion = tuple[Callable[[FrontEntry], float], float]
"""A figure, the less the better, and below which difference it is the same."""


@dataclass(frozen=True)
class _Choice:
    """The layouts to choose from, the objectives that were sought, which differences count as none, and how many
    layouts the front has, with those too far out of tune."""

    entries: Sequence[FrontEntry]
    sought: Sequence[str]
    same: Mapping[str, float]
    of_layouts: int

    def by_role(self) -> tuple[dict[Role, FrontEntry], dict[Role, str]]:
        """The layout of each role, and why nothing fills the others."""
        if not self.entries:
            return {}, dict.fromkeys(ROLES, "no layout keeps every limit")
        left_out: dict[Role, str] = {}
        if any("tuning" not in entry.objectives for entry in self.entries):
            left_out[IN_TUNE] = "the front does not say how far notes are out of tune"
        if all(entry.finger_pairs == 0 for entry in self.entries):
            left_out[IN_REACH] = "no two fingers of one hand lie on holes, or rest on keys in a row"
        elif any("stretch" not in entry.objectives for entry in self.entries):
            left_out[IN_REACH] = "the front does not say how far hands are stretched"
        elif all(entry.objectives["stretch"] < OBJECTIVES["stretch"].resolution for entry in self.entries):
            left_out[IN_REACH] = "no layout stretches the hands beyond comfort"
        if unknown := [entry.file for entry in self.entries if entry.joints is None]:
            left_out[SIMPLEST] = f"{unknown[0]} cannot be read, which alone says what there is to build"
        elif not any(self.count(entry, *COUNTS) for entry in self.entries):
            left_out[SIMPLEST] = "no layout has a joint, a plate or anything to settle in CAD"
        criteria: dict[Role, list[Criterion]] = {
            COMPROMISE: [],
            IN_TUNE: [self.objective("tuning")],
            IN_REACH: [self.objective("stretch")],
            SIMPLEST: [
                (lambda entry: self.count(entry, "joints"), 1.0),
                (lambda entry: self.count(entry, "plates", "to_settle"), 1.0),
                self.objective("unevenness"),
            ],
        }
        return {role: self.best(criteria[role]) for role in ROLES if role not in left_out}, left_out

    def count(self, entry: FrontEntry, *names: str) -> int:
        """How many there are: as the objective of that name counts where it was sought, else of all it has."""
        return sum(
            round(entry.objectives[name]) if name in self.sought else getattr(entry, name) or 0 for name in names
        )

    @cached_property
    def least(self) -> dict[str, float]:
        """The best of each objective that was sought."""
        return {name: min(entry.objectives[name] for entry in self.entries) for name in self.sought}

    @property
    def tuned(self) -> str:
        """What layouts are that are not left aside as too far out of tune."""
        return in_tune_words(max(entry.objectives.get("tuning", 0.0) for entry in self.entries))

    @property
    def among(self) -> str:
        """Of which layouts the best is told, where some were left aside as too far out of tune."""
        return "" if len(self.entries) == self.of_layouts else f" of those {self.tuned}"

    def objective(self, name: str) -> Criterion:
        """An objective as a criterion; where a front does not tell it, all are the same in it."""
        return (lambda entry: entry.objectives.get(name, 0.0)), self.same[name]

    def best(self, criteria: Sequence[Criterion]) -> FrontEntry:
        """The layout that is left after one criterion after the other."""
        left = list(self.entries)
        for figure, width in criteria:
            least = min(figure(entry) for entry in left)
            left = [entry for entry in left if not counts(figure(entry) - least, width)]
        return min(left, key=lambda entry: (self.missing(entry), *numbered(entry.id)))

    def missing(self, entry: FrontEntry) -> float:
        """How far a layout lies from the best of every objective at once [1]."""
        return round(math.hypot(*(self._missing(entry, name) for name in self.sought)), 9)

    def _missing(self, entry: FrontEntry, name: str) -> float:
        """What it misses of the best of one objective, in whole steps, as a share of the objective's reference."""
        width = self.same[name]
        away = entry.objectives[name] - self.least[name]
        stepped = math.floor(away / width * (1.0 + JUST)) * width if width > JUST * away else away
        return stepped / OBJECTIVES[name].reference


def in_tune_words(tuning_cents: float) -> str:
    """What a layout is whose role is to be in tune, by how far off it is [cents]."""
    return IN_TUNE if tuning_cents <= TUNED_CENTS else "nearest to tune"


def counts(difference: float, width: float) -> bool:
    """Whether a difference is more than none, where all below a width is none."""
    return abs(difference) > 0.0 and abs(difference) >= width * (1.0 - JUST)


def _playable(entries: Sequence[FrontEntry]) -> list[FrontEntry]:
    """Layouts near enough to the most in tune; all of them where the front does not tell."""
    if any("tuning" not in entry.objectives for entry in entries):
        return list(entries)
    most = min(entry.objectives["tuning"] for entry in entries) + SHADED_CENTS
    return [entry for entry in entries if entry.objectives["tuning"] <= most]


def _pick(entry: FrontEntry, roles: Sequence[Role], compromise: FrontEntry, choice: _Choice) -> PickRecord:
    """A layout with its roles, and the sentence on it."""
    itself = entry.id == compromise.id
    against = {} if itself else _difference(entry, compromise, choice)
    sentence = _of_compromise(entry, roles, choice) if itself else _of_other(entry, roles, against, choice)
    return PickRecord(
        id=entry.id,
        file=entry.file,
        roles=list(roles),
        objectives=entry.objectives,
        joints=entry.joints if entry.joints is None else choice.count(entry, "joints"),
        plates=entry.plates if entry.plates is None else choice.count(entry, "plates"),
        to_settle=entry.to_settle,
        against_compromise=against,
        sentence=sentence,
    )


def _difference(entry: FrontEntry, other: FrontEntry, choice: _Choice) -> dict[str, float]:
    """Figures of a layout less those of another; what is counted of both is told as a count."""
    named = [name for name in UNITS if name in entry.objectives and name in other.objectives and name not in COUNTS]
    figures = {name: entry.objectives[name] - other.objectives[name] for name in named}
    if entry.joints is None or other.joints is None:
        return figures
    return figures | {name: float(choice.count(entry, name) - choice.count(other, name)) for name in COUNTS}


def _claim(role: Role, entry: FrontEntry, choice: _Choice) -> str:
    """What a layout is the best at, or as good as the best, with its figure."""
    if role in BEST_AT:
        name, best, alike = BEST_AT[role]
        figure, least = entry.objectives[name], min(each.objectives[name] for each in choice.entries)
        told = f"{figure:.2f} {UNITS[name]}"
        best += choice.among
        if role == IN_TUNE and (tuned := in_tune_words(figure)) != IN_TUNE:
            best, alike = f"{tuned} of what was found", f"among the {tuned}"
        if figure == least:
            return f"{best}, {told}"
        none = f"less than {choice.same[name]:g} {UNITS[name]} apart counts as none"
        return f"{alike}, {told} (the least is {least:.2f}, and {none})"
    return f"simplest to build{choice.among}, {listed([_counted(entry, name, choice) for name in COUNTS])}"


def _counted(entry: FrontEntry, name: str, choice: _Choice) -> str:
    """How many of what is counted a layout has, in words."""
    one, rest = COUNTS[name]
    return counted(choice.count(entry, name), one) + rest


def _of_compromise(entry: FrontEntry, roles: Sequence[Role], choice: _Choice) -> str:
    """What the best compromise is."""

    def told(name: str) -> str:
        if name in COUNTS and entry.joints is not None:
            return _counted(entry, name, choice)
        return f"{name.replace('_', ' ')} {entry.objectives[name]:.2f} {UNITS[name]}"

    figures = listed([told(name) for name in UNITS if name in choice.sought])
    if len(choice.entries) == 1:
        return f"The only layout{'' if choice.of_layouts == 1 else f' {choice.tuned}'}: {figures}."
    of = f"{len(choice.entries)} layouts{choice.among and f' {choice.tuned}'}"
    best = f"Best compromise, nearest of {of} to the best of everything at once: {figures}"
    return "; ".join([best, *(_claim(role, entry, choice) for role in roles if role != COMPROMISE)]) + "."


def _of_other(entry: FrontEntry, roles: Sequence[Role], against: Mapping[str, float], choice: _Choice) -> str:
    """What another layout is the best at, and what that costs against the best compromise."""
    weighed = [name for name in against if name in COUNTS or name in choice.sought]
    told = [name for name in weighed if counts(against[name], choice.same.get(name, 1.0))]
    gains = [_change(name, against[name]) for name in told if against[name] < 0]
    costs = [_change(name, against[name]) for name in told if against[name] > 0]
    claims = "; ".join(_claim(role, entry, choice) for role in roles)
    if not gains and not costs:
        return f"{claims[0].upper()}{claims[1:]}. Against the best compromise nothing differs that counts."
    said = ", but ".join(listed(each) for each in (gains, costs) if each)
    return f"{claims[0].upper()}{claims[1:]}. Against the best compromise: {said}."


def _change(name: str, by: float) -> str:
    """A difference in words."""
    if name in COUNTS:
        one, rest = COUNTS[name]
        return counted(abs(round(by)), f"{'more' if by > 0 else 'fewer'} {one}") + rest
    return OBJECTIVES[name].change(by)
