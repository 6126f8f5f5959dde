"""What each limit of a layout costs: the tuning gained or lost for each millimetre that it moves.

At rest the multipliers of the solve's last quadratic programme are the slopes of the merit by every limit at once
(Nocedal & Wright 2006, section 12.8). The merit of tuning alone is RMS^2 / (2 TUNING_SCALE_CENTS^2), so that a
multiplier L is worth TUNING_SCALE_CENTS^2 L / RMS cents. Slopes hold for small moves; each is therefore checked by
solving again with the limit tightened by two steps, and where another limit comes into play, that is said.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np

from optimizer.geometry.layout import STEP
from optimizer.solving.linearised import TUNING_SCALE_CENTS, Emphasis, Posed
from optimizer.solving.quadratic_step import multipliers_at
from optimizer.solving.refine import refine
from optimizer.solving.time_left import TimeLeft
from optimizer.solving.variants import Tightened

TUNING = Emphasis()
STEPS = 400
TOLERANCE = 1e-8
LEAST_CENTS = 0.002
"""A limit that costs less for each unit is said to cost nothing."""

BROKEN_MM = 0.01
"""A re-solve that breaks a limit by more did not find room."""


Side = Literal["constraint", "low", "high"]


class Unit(NamedTuple):
    """What a price is counted in: its name, how much that is, and the two steps of the check, in the number's own unit,
    which comes last."""

    name: str = "mm"
    size: float = 1.0
    steps: tuple[float, float] = (0.2, 0.5)
    own: Literal["mm", "cm3", "deg", "1"] = "mm"


UNITS = {
    "reed_volume_cm3": Unit("0.1 cm3", 0.1, (0.01, 0.025), "cm3"),
    "bore_scale": Unit("1 %", 0.01, (0.002, 0.005), "1"),
    "reed_end_diameter_mm": Unit("0.1 mm", 0.1, (0.01, 0.025)),
    "crook_end_diameter_mm": Unit("0.1 mm", 0.1, (0.01, 0.025)),
    "crook_half_angle_deg": Unit("0.1 deg", 0.1, (0.01, 0.025), "deg"),
    "cone_half_angle_deg": Unit("0.01 deg", 0.01, (0.002, 0.005), "deg"),
    "lower_cone_half_angle_deg": Unit("0.01 deg", 0.01, (0.002, 0.005), "deg"),
}


ENDS: tuple[Side, Side] = ("low", "high")


class Limit(NamedTuple):
    """One limit: a constraint, or the low or high end of a free number's range; its number among those."""

    name: str
    side: Side
    number: int

    @property
    def field(self) -> str:
        """The layout's number that a range belongs to; empty for a constraint."""
        return "" if self.side == "constraint" else self.name.split(".")[0]

    @property
    def unit(self) -> Unit:
        """What its price is counted in."""
        return UNITS.get(self.field, Unit())


@dataclass(frozen=True)
class Rest:
    """Where a solve for tuning came to rest, or got to in its time: x (n,), errors (N,) [cents], RMS, whether limits
    are kept, price of each limit that has one, whether it rests."""

    x: np.ndarray
    errors: np.ndarray
    cents: float
    kept: bool
    prices: dict[Limit, float]
    rests: bool = True


@dataclass(frozen=True)
class Tried:
    """A re-solve with a limit tightened by a step: RMS gained [cents], limits that came in, whether it still binds."""

    step: float
    dearer_cents: float
    slope: float
    kept: bool
    came_in: tuple[str, ...]
    still_binds: bool
    errors: np.ndarray

    @property
    def same_limits(self) -> bool:
        """Whether the same limits have a price as before."""
        return self.kept and self.still_binds and not self.came_in


@dataclass(frozen=True)
class Price:
    """A limit's price [cents for each unit tightened]: by its multiplier, and what re-solves cost."""

    limit: Limit
    by_multiplier: float
    tried: tuple[Tried, ...] = ()

    @property
    def by_solving(self) -> float | None:
        """The slope at no step at all by the re-solves in which no other limit came into play; None without any."""
        unit = self.limit.unit
        same = [one for one in self.tried if one.same_limits]
        if len(same) < 2:
            return same[0].slope * unit.size if same else None
        first, second = same
        bend = (first.slope - second.slope) * first.step / (second.step - first.step)
        return (first.slope + bend) * unit.size

    @property
    def ratio(self) -> float | None:
        """Price by multiplier over price by re-solve."""
        found = self.by_solving
        return self.by_multiplier / found if found else None


def settled(problem: Posed, x: np.ndarray, names: tuple[str, ...], left: TimeLeft | None = None) -> Rest:
    """Solve a problem for tuning alone, to a tight tolerance.

    Parameters
    ----------
    problem : what is solved
    x : (n,) where to begin, in units of `layout.STEP`
    names : of its constraints (m,)
    left : time to keep to
    """
    outcome = refine(problem, x, TUNING, STEPS, TOLERANCE, left)
    errors = np.asarray(problem.evaluate(outcome.x)[0].errors)
    share = problem.weight / np.sum(problem.weight)
    cents = float(np.sqrt(share @ errors**2))
    prices = _prices(problem, outcome.x, cents, names)
    rests = outcome.settled or left is None or not left.up
    return Rest(outcome.x, errors, cents, outcome.violation_mm <= BROKEN_MM, prices, rests)


def _prices(problem: Posed, x: np.ndarray, cents: float, names: tuple[str, ...]) -> dict[Limit, float]:
    """Price of each limit that has one, dearest first [cents for each unit]."""
    found = multipliers_at(problem, TUNING, x)
    if found is None or cents <= 0.0:
        return {}
    ranges = problem.parametrisation.names
    limits = [Limit(name, "constraint", number) for number, name in enumerate(names)]
    limits += [Limit(name, side, number) for side in ENDS for number, name in enumerate(ranges)]
    values = np.concatenate(found) * TUNING_SCALE_CENTS**2 / cents
    prices = {
        limit: float(value) * limit.unit.size / STEP.get(limit.field, 1.0)
        for limit, value in zip(limits, values, strict=True)
    }
    dearest = sorted(prices, key=lambda limit: -prices[limit])
    return {limit: prices[limit] for limit in dearest if prices[limit] >= LEAST_CENTS}


def tightened(problem: Posed, limit: Limit, step: float, constraints: int) -> Tightened:
    """The problem with one limit asking for `step` more, in its own unit."""
    n = problem.parametrisation.low.size
    moves = {"constraint": np.zeros(constraints), "low": np.zeros(n), "high": np.zeros(n)}
    moves[limit.side][limit.number] = step / STEP.get(limit.field, 1.0)
    return Tightened(problem, moves["constraint"], moves["low"], moves["high"])


def checked(problem: Posed, rest: Rest, limit: Limit, names: tuple[str, ...], left: TimeLeft | None = None) -> Price:
    """A limit's price by its multiplier, checked by those re-solves from where the layout rests that end in time."""
    tried = list[Tried]()
    for step in limit.unit.steps:
        if _room(problem, limit, step) and (found := _tried(problem, rest, limit, step, names, left)) is not None:
            tried.append(found)
    return Price(limit, rest.prices[limit], tuple(tried))


def _room(problem: Posed, limit: Limit, step: float) -> bool:
    """Whether a range is wide enough to lose a step."""
    coding = problem.parametrisation
    if limit.side == "constraint":
        return True
    return bool((coding.high - coding.low)[limit.number] > 1.01 * step / STEP[limit.field])


def _tried(
    problem: Posed, rest: Rest, limit: Limit, step: float, names: tuple[str, ...], left: TimeLeft | None
) -> Tried | None:
    """The layout solved again with a limit tightened by a step; None where time is up before."""
    other = tightened(problem, limit, step, len(names))
    x = np.clip(rest.x, other.parametrisation.low, other.parametrisation.high)
    found = settled(other, x, names, left)
    if not found.rests:
        return None
    return Tried(
        step=step,
        dearer_cents=found.cents - rest.cents,
        slope=(found.cents**2 - rest.cents**2) / (2.0 * rest.cents * step),
        kept=found.kept,
        came_in=tuple(one.name for one in found.prices if one not in rest.prices),
        still_binds=limit in found.prices,
        errors=found.errors,
    )


def priced(problem: Posed, rest: Rest, names: tuple[str, ...], left: TimeLeft | None = None) -> Iterator[Price]:
    """The price of every limit that has one, dearest first, each checked as it is asked for, while there is time."""
    for limit in rest.prices:
        yield checked(problem, rest, limit, names, left)
