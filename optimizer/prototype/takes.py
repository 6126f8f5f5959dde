"""Several takes of each of some notes: their means, and how sure these are."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from acoustics.arrays import Floats
from optimizer.hearing.drift import Reading, together
from optimizer.records.measurement import PLAYED_CENTS, scatter_of

ROUNDED_CENTS = 1.0 / np.sqrt(12.0)
"""One deviation of a reading to whole cents, anything within half a cent as likely: 0.29 (JCGM 100:2008, F.2.2.1)."""


class Readings(NamedTuple):
    """Mean of each note's takes (N,), one deviation of it (N,) [cents], and what is to be said."""

    mean: Floats
    sd: Floats
    remarks: list[str]


def in_order(rows: Sequence[Reading]) -> tuple[dict[int, list[float]], Readings]:
    """Takes of each line from readings in the order in which they were played, a drift that notes coming again show
    taken out; means and deviations of the lines, ascending.

    Parameters
    ----------
    rows : by line, pass and time; one at the least
    """
    joined = together(rows, in_rows=True)
    cents = joined.cents.tolist() if joined.drifts else [each.cents for each in rows]
    lines = sorted({each.line for each in rows})
    takes = {line: [value for each, value in zip(rows, cents, strict=True) if each.line == line] for line in lines}
    found = readings_of(list(takes.values()))
    if not joined.drifts:
        return takes, found
    sd = np.sqrt((joined.between**2 + ROUNDED_CENTS**2) / np.array([len(each) for each in takes.values()]))
    return takes, Readings(found.mean, sd, joined.told)


def readings_of(takes: Sequence[Sequence[float]]) -> Readings:
    """Means of takes; the scatter of all notes is pooled, as each alone has too few to tell it.

    Parameters
    ----------
    takes : of each note one at the least [cents]
    """
    count = np.array([len(each) for each in takes])
    mean = np.array([np.mean(each) for each in takes])
    squares = float(sum(np.sum((np.array(each) - middle) ** 2) for each, middle in zip(takes, mean, strict=True)))
    freedom = float(np.sum(count - 1))
    scatter = scatter_of(squares, freedom)
    sd = np.sqrt((scatter**2 + ROUNDED_CENTS**2) / count)
    if freedom == 0:
        granted = f"one take of each note: that others would scatter by {PLAYED_CENTS:g} cents is taken for granted"
        return Readings(mean, sd, [granted])
    own = np.sqrt(squares / freedom)
    return Readings(mean, sd, [f"takes of a note scatter by {own:.1f} cents, {scatter:.1f} with what is usual"])
