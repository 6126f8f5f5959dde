"""A fit in sentences: what the data say, what they cannot tell apart, and where the instrument lies outside of what was
stated."""

from collections.abc import Sequence

import numpy as np

from acoustics.arrays import Floats
from optimizer.prototype.fairness import Judged
from optimizer.prototype.played_model import TIERS, Played
from optimizer.records.calibration import Number
from optimizer.words import counted, listed

TOLD_LEFT, TOLD_MEAN = 0.7, 0.5
"""A number is told of where its deviation fell below so much of what it was, unless it is a single hole's, or where it
lies so many of them off."""

TOLD_MOST = 8
HIDDEN = 0.6
"""Two numbers hide each other from this correlation on."""

HEARD_CENTS = 1.0
"""Numbers that move the notes by less, root mean square, are not worth a sentence."""

OUTSIDE, UNLIKELY = 3.0, 0.01


def says(numbers: Sequence[Number]) -> list[str]:
    """What the data say of single numbers, the furthest off first."""
    common = [one for one in numbers if one.tier < len(TIERS) and one.left < TOLD_LEFT]
    far = [one for one in numbers if one not in common and abs(one.mean) > TOLD_MEAN * one.prior_sd]
    told = [*common, *far]
    told.sort(key=lambda one: -abs(one.mean) / one.prior_sd)
    return [
        f"{one.name}: {one.mean:+.3g} {one.unit}, +- {one.sd:.2g} ({one.prior_sd:.2g} before)"
        for one in told[:TOLD_MOST]
    ]


def cannot_say(model: Played, at: Judged) -> list[str]:
    """What the data cannot tell: pairs that hide each other, numbers that nothing was heard of.

    Parameters
    ----------
    model : what may differ
    at : the tier that was fitted
    """
    effect = np.sqrt(np.mean(np.column_stack([model.layout.by, model.fixed]) ** 2, axis=0))
    sure = np.sqrt(np.diag(at.covariance))
    heard = (model.tier < len(TIERS)) & (effect > HEARD_CENTS) & ~model.of_measurement
    common = np.flatnonzero(heard).tolist()
    found = []
    for place, first in enumerate(common):
        for second in common[place + 1 :]:
            if abs(_correlation(at.covariance, first, second)) > HIDDEN and min(sure[first], sure[second]) > 0.3:
                found.append(_hidden(model, at.covariance, first, second))
    deaf = [model.names[number] for number in common if sure[number] > 0.95]
    if deaf:
        found.append(f"nothing was heard of {listed(deaf)}: as sure as before")
    single = [number for number, name in enumerate(model.names) if name.startswith("diameter of ")]
    known = [model.names[number].removeprefix("diameter of ") for number in single if sure[number] < TOLD_LEFT]
    if len(known) < len(single):
        which = f" but {listed(known)}" if known else ""
        found.append(f"no single hole{which} is known better by the notes than by its print; gauge those in doubt")
    return found


def _correlation(covariance: Floats, first: int, second: int) -> float:
    return float(covariance[first, second] / np.sqrt(covariance[first, first] * covariance[second, second]))


def _hidden(model: Played, covariance: Floats, first: int, second: int) -> str:
    way = "more" if _correlation(covariance, first, second) > 0.0 else "less"
    return (
        f"{model.names[first]} and {model.names[second]} hide each other: more of the one with {way} of the other "
        "sounds the same; measure one of them"
    )


def outside(numbers: Sequence[Number], chance: float, notes: int) -> list[str]:
    """Where the instrument lies outside of what was stated.

    Parameters
    ----------
    numbers : as fitted
    chance : of notes so far off by what was stated
    notes : how many were measured
    """
    found = []
    if chance < UNLIKELY:
        found.append(
            f"{counted(notes, 'note')} so far off the layout are unlikely by what was stated (chance {chance:.2g}): "
            "the instrument, the reed or the air lies outside of [uncertainty]"
        )
    found += [
        f"{one.name} lies {abs(one.mean) / one.prior_sd:.1f} deviations off: outside of what was stated; measure it"
        for one in numbers
        if abs(one.mean) > OUTSIDE * one.prior_sd
    ]
    return found
