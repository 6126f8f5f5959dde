"""What several takes of a note say together: a drift of the temperature taken out, and how far takes differ.

Cents of a tone = its note + its take + the drift at its time. The drift is told by notes that come again in a take
(anchors): a straight line, or a warm-up 1 - exp(-t / tau), where one is clearly there. What is left between takes is
pooled over all notes, as each has too few by itself.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from acoustics.arrays import Array
from optimizer.records.measurement import PLAYED_CENTS, scatter_of
from optimizer.words import counted

ANCHOR_SECONDS = 15.0
"""So far apart must a note come again to be an anchor."""

LEAST_ANCHORS = 3
ROW_SECONDS = 5.0
"""So long a row of a table takes at the least that is filled in while playing: common practice, no source."""

TAUS = (60.0, 120.0, 240.0, 480.0)
"""Times in which a cold instrument warms [s]; 5 to 10 minutes until it has: common practice, no source."""

CLEAR = 2.5
"""Deviations from 0 beyond which a drift is one."""

LEAST_CENTS = 1.0
BETTER = 0.8
"""A warm-up is one where it leaves less than this share of the squares that a line leaves."""


class Reading(NamedTuple):
    """One tone: number of its line, number of its take, when in it [s], cents; alone: its take holds no other note."""

    line: int
    take: int
    seconds: float
    cents: float
    alone: bool = False


@dataclass(frozen=True)
class Together:
    """All readings of a session.

    Attributes
    ----------
    cents : (n,) of every reading, drift and its take's own height taken out
    between : one standard deviation between takes of a note [cents]
    told : what was found, in sentences
    drifts : whether a drift was taken out
    """

    cents: Array
    between: float
    told: list[str]
    drifts: bool = False


class _Fit(NamedTuple):
    """A fit of all readings: sum of the squares left, degrees of freedom, height of the drift and its deviation
    [cents], and what of each reading (n,) is its take's and the drift's."""

    squares: float
    freedom: int
    height: float
    sd: float
    beside: Array

    @property
    def clear(self) -> bool:
        """Whether there is a drift, known better than takes of a note agree."""
        return self.freedom > 0 and self.sd < PLAYED_CENTS and abs(self.height) > max(CLEAR * self.sd, LEAST_CENTS)


def together(readings: Sequence[Reading], in_rows: bool = False) -> Together:
    """Take drifts and heights of takes out of readings.

    Parameters
    ----------
    readings : of all tones that a line was found for
    in_rows : their times count rows of a table, `ROW_SECONDS` each, and its takes are passes
    """
    if not readings:
        return Together(np.zeros(0), PLAYED_CENTS, [])
    fit, drift = _drift(readings, in_rows)
    told = [drift] if drift else []
    between = scatter_of(fit.squares, fit.freedom)
    if fit.freedom == 0:
        told.append(f"no note came again: {PLAYED_CENTS:g} cents between takes are taken for granted")
    else:
        apart = np.sqrt(fit.squares / fit.freedom)
        told.append(f"takes of a note lie {apart:.1f} cents apart; {between:.1f} with what is usual before")
    return Together(np.array([each.cents for each in readings]) - fit.beside, between, told, bool(drift))


def _drift(readings: Sequence[Reading], in_rows: bool) -> tuple[_Fit, str]:
    """The fit with the drift that is clearly there, and a sentence of it; empty where there is none."""
    still = _fitted(readings, np.zeros(len(readings)))
    anchors = _anchors(readings)
    if anchors < LEAST_ANCHORS:
        return still, ""
    along = _along(readings)
    long = max(float(np.ptp(along)), 1e-9)
    line = _fitted(readings, along / long)
    warm, tau = min(((_fitted(readings, _warming(readings, tau)), tau) for tau in TAUS), key=lambda each: each[0][0])
    again = f"({counted(anchors, 'note')} came again)"
    if warm.clear and warm.squares < BETTER * line.squares:
        time = f"the first {2.0 * tau / ROW_SECONDS:.0f} rows" if in_rows else f"{2.0 * tau / 60.0:.0f} minutes"
        return warm, (
            f"the instrument warms by {warm.height:+.1f} cents, nearly all of it in {time} {again}; cents are those of "
            "the warm instrument"
        )
    if line.clear and in_rows:
        ends = f"by {line.height:+.1f} cents from the first row of a pass to the last"
        return line, f"the pitch drifts {ends} {again}; cents are those of the middle of each pass"
    if line.clear:
        slope = f"by {60.0 * line.height / long:+.1f} cents a minute"
        return line, f"the pitch drifts {slope} {again}; cents are those of the middle of each take"
    return still, ""


def _anchors(readings: Sequence[Reading]) -> int:
    """How many tones are a note that was played before in the same take, long enough ago."""
    first: dict[tuple[int, int], float] = {}
    return sum(
        each.seconds - first.setdefault((each.take, each.line), each.seconds) > ANCHOR_SECONDS
        for each in readings
        if not each.alone
    )


def _along(readings: Sequence[Reading]) -> Array:
    """Time from the middle of each reading's take, shape (n,) [s]."""
    middle = {
        take: float(np.mean([each.seconds for each in readings if each.take == take])) for take in _takes(readings)
    }
    return np.array([0.0 if each.alone else each.seconds - middle[each.take] for each in readings])


def _warming(readings: Sequence[Reading], tau: float) -> Array:
    """How far each reading (n,) lies from the warm instrument's: all takes but the first are warm."""
    first = next(iter(_takes(readings)), None)
    return np.array([-np.exp(-each.seconds / tau) if each.take == first else 0.0 for each in readings])


def _takes(readings: Sequence[Reading]) -> list[int]:
    """Numbers of the takes that hold several notes."""
    return sorted({each.take for each in readings if not each.alone})


def _fitted(readings: Sequence[Reading], drift: Array) -> _Fit:
    """Least squares of all readings with a drift of this course (n,), none where that is 0."""
    names = sorted({each.line for each in readings})
    takes = _takes(readings)
    notes = np.array([[each.line == name for name in names] for each in readings], float)
    higher = [
        [0.0 if each.alone else float(each.take == take) - float(each.take == takes[0]) for take in takes[1:]]
        for each in readings
    ]
    design = np.column_stack([notes, np.array(higher).reshape(len(readings), -1), drift])
    cents = np.array([each.cents for each in readings])
    inverse = np.linalg.pinv(design)
    found = inverse @ cents
    left = cents - design @ found
    freedom = len(cents) - int(np.linalg.matrix_rank(design))
    squares = float(left @ left)
    sd = float(np.sqrt(squares / max(freedom, 1)) * np.linalg.norm(inverse[-1]))
    return _Fit(squares, freedom, float(found[-1]), sd, design[:, len(names) :] @ found[len(names) :])
