"""What each limit of a layout costs: multipliers, checked by solving again.

A layout is first settled for tuning alone, as its multipliers hold at rest only. It counts as another limit coming into
play when one has a price that had none, or the moved one has none any more. Where limits meet in excess, multipliers
are not unique.
"""

import time
from collections.abc import Callable, Iterator

import numpy as np

from optimizer.analysis.as_saved import choices_of, record_joints
from optimizer.analysis.multipliers import (
    BROKEN_MM,
    LEAST_CENTS,
    STEPS,
    TOLERANCE,
    TUNING,
    Limit,
    Price,
    Rest,
    Unit,
    priced,
    settled,
)
from optimizer.geometry.choices import Choices
from optimizer.limits.catalogue import LIMITS
from optimizer.project.loading import LoadedProject
from optimizer.records.layout import LayoutRecord, saved_numbers
from optimizer.records.prices import LimitPrice, MostMoved, PlateOff, PricesRecord, TriedStep
from optimizer.solving.fitting import Fitting
from optimizer.solving.linearised import Posed
from optimizer.solving.problem import Problem
from optimizer.solving.refine import refine
from optimizer.solving.stock import in_sizes, whole
from optimizer.solving.time_left import TimeLeft

DIFFERENT = 0.2
"""A multiplier and a re-solve that differ by a greater share are told."""

ENDS = {
    "diameter_mm": ("{0} at least {1} wider", "{0} at most {1} narrower"),
    "position_mm": ("{0} kept {1} further from the reed", "{0} kept {1} nearer the reed"),
    "chimney_mm": ("chimney of {0} at least {1} longer", "chimney of {0} at most {1} shorter"),
    "touch_offset_mm": ("touch of {0} kept {1} further from the reed", "touch of {0} kept {1} nearer the reed"),
    "end_mm": ("bell end {1} further out at least", "bell end {1} nearer at most"),
    "reed_volume_cm3": ("reed at least {1} larger", "reed at most {1} smaller"),
    "bore_scale": ("bore at least {1} wider", "bore at most {1} narrower"),
    "reed_end_diameter_mm": ("bore at least {1} wider at the reed", "bore at most {1} narrower at the reed"),
    "crook_end_diameter_mm": ("crook at least {1} wider at its end", "crook at most {1} narrower at its end"),
    "crook_half_angle_deg": ("crook at least {1} steeper", "crook at most {1} slimmer"),
    "cone_half_angle_deg": ("cone at least {1} steeper", "cone at most {1} slimmer"),
    "lower_cone_half_angle_deg": ("lower cone at least {1} steeper", "lower cone at most {1} slimmer"),
    "bell_length_mm": ("bell at least {1} longer", "bell at most {1} shorter"),
    "bell_flare_mm": ("bell flared {1} more at least", "bell flared {1} less at most"),
    "row_mm": ("row of the {0} hand kept {1} further from the reed", "row of the {0} hand kept {1} nearer the reed"),
    "joint_mm": ("joint {0} kept {1} further from the reed", "joint {0} kept {1} nearer the reed"),
}


def prices_of(
    loaded: LoadedProject, record: LayoutRecord, seconds: float, told: Callable[[int, int], None]
) -> PricesRecord:
    """What each limit of a layout costs.

    The layout is settled for tuning, then limits are priced, the dearest first; what is being solved when the time is
    up counts as not tried, and where the layout is not at rest by then, that is told.

    Parameters
    ----------
    loaded : the project that the layout was made for
    record : a layout that keeps its limits
    seconds : how long it may take [s]
    told : called with how many limits are priced, and of how many
    """
    begun = time.monotonic()
    left = TimeLeft(begun + seconds)
    told(0, 0)
    fitting, choices, numbers = Fitting(loaded), choices_of(loaded, record), saved_numbers(record, loaded.project)
    start = fitting.starts.beside(numbers, 0.0, 0)
    problem, x = fitting.problem.chosen(choices, start, record_joints(record))
    names = tuple(item.name for item in problem.constraints.items)
    posed, start = in_sizes(problem, x)
    rest = settled(posed, start, names, left)
    left.done()
    prices, ahead = list[Price](), priced(posed, rest, names, left)
    while left.for_more() and (price := next(ahead, None)) is not None:
        prices.append(price)
        told(len(prices), len(rest.prices))
        left.done()
    prices += [Price(limit, rest.prices[limit]) for limit in list(rest.prices)[len(prices) :]]
    bare = list(_plates_off(problem, whole(posed, rest.x), rest.cents, choices, record, left))
    return PricesRecord(
        instrument=record.instrument,
        layout=record.id,
        project_file=loaded.source,
        saved_cents=record.objectives["tuning"],
        cents=rest.cents,
        kept=rest.kept,
        rests=rest.rests,
        least_cents=LEAST_CENTS,
        prices=[recorded(price, rest, problem) for price in prices],
        free=_free(problem, posed, rest),
        plates_off=bare,
        plates_untried=list(choices.plates[len(bare) :]),
        seconds=round(time.monotonic() - begun, 1),
    )


def recorded(price: Price, rest: Rest, problem: Problem) -> LimitPrice:
    """A price as it is written down."""
    limit = price.limit
    return LimitPrice(
        limit=limit.name,
        side=limit.side,
        sentence=worded(limit),
        unit=limit.unit.name,
        step_unit=limit.unit.own,
        by_multiplier=price.by_multiplier,
        by_solving=price.by_solving,
        ratio=price.ratio,
        tried=[
            TriedStep(
                step=one.step,
                dearer_cents=one.dearer_cents if one.kept else None,
                came_in=list(one.came_in),
                still_binds=one.still_binds,
            )
            for one in price.tried
        ],
        most_moved=_most_moved(price, rest, problem),
        remark=remark(price),
    )


def _most_moved(price: Price, rest: Rest, problem: Problem) -> MostMoved | None:
    """The note whose error grows or shrinks most by the longest step that found room."""
    kept = [one for one in price.tried if one.kept]
    if not kept:
        return None
    change = np.abs(kept[-1].errors) - np.abs(rest.errors)
    line = int(np.argmax(np.abs(change)))
    note = problem.notes[line]
    return MostMoved(written=note.written, register_number=note.register, grows_cents=float(change[line]))


def _free(problem: Problem, posed: Posed, rest: Rest) -> list[str]:
    """Limits that bind where the layout rests and yet cost nothing."""
    margins = -np.asarray(posed.evaluate(rest.x)[0].constraint)
    priced_ones = {limit.name for limit in rest.prices}
    items = zip(problem.constraints.items, margins, strict=True)
    return [item.name for item, margin in items if margin <= 0.03 and item.name not in priced_ones]


def _plates_off(
    problem: Problem, at: np.ndarray, cents: float, choices: Choices, record: LayoutRecord, left: TimeLeft
) -> Iterator[PlateOff]:
    """The layout solved again with one plate less, for each hole that may go bare, while there is time."""
    for hole in choices.plates:
        if not left.for_more():
            return
        fewer = choices._replace(plates=tuple(name for name in choices.plates if name != hole))
        other, x = in_sizes(*problem.chosen(fewer, at, record_joints(record)))
        outcome = refine(other, x, TUNING, STEPS, TOLERANCE, left)
        if left.up and not outcome.settled:
            return
        errors = np.asarray(other.evaluate(outcome.x)[0].errors)
        without = float(np.sqrt(other.weight @ errors**2 / np.sum(other.weight)))
        dearer = without - cents if outcome.violation_mm <= BROKEN_MM else None
        left.done()
        yield PlateOff(hole=hole, dearer_cents=dearer)


def worded(limit: Limit) -> str:
    """What is asked of a layout when a limit is tightened by one unit."""
    kind, _, rest = limit.name.partition(".")
    if limit.side == "constraint":
        return LIMITS[kind].tightened(rest)
    unit = limit.unit.name
    return ENDS[kind][limit.side == "high"].format(rest, unit if unit[0].isdigit() else f"1 {unit}")


def remark(price: Price) -> str:
    """What a re-solve says that the multiplier does not: another limit, no room, or another price."""
    for one in price.tried:
        unit = _amount(price.limit.unit, one.step)
        if not one.kept:
            return f"no room {unit} further"
        if one.came_in:
            verb = "takes" if len(one.came_in) == 1 else "take"
            return f"{', '.join(map(_named, one.came_in[:2]))} {verb} over within {unit}"
        if not one.still_binds:
            return f"binds no more within {unit}"
    if not price.tried:
        return "not re-solved"
    ratio = price.ratio
    return "differs: curved" if ratio is not None and abs(ratio - 1.0) > DIFFERENT else ""


def _named(name: str) -> str:
    """A limit's name in a sentence: ranges by what they are of."""
    kind, _, rest = name.partition(".")
    return f"{kind.rsplit('_', 1)[0].replace('_', ' ')} of {rest}" if kind in ENDS and rest else name


def _amount(unit: Unit, step: float) -> str:
    return f"{100.0 * step:g} %" if unit.own == "1" else f"{step:g} {unit.own}"
