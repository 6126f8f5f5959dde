"""What to measure next: the notes and holes that shrink the doubt of all notes most, one after the other.

Each candidate is one more row of the linear model; what it would take off the notes' variances summed follows by a
rank-one update, whatever the reading will be (I-optimality; Chaloner & Verdinelli, Statistical Science 10 (1995) 273,
from memory).
"""

from typing import Literal, NamedTuple

import numpy as np

from acoustics.arrays import Floats
from optimizer.prototype.changes import printed_bores
from optimizer.prototype.gauged_numbers import row_of
from optimizer.prototype.played_model import Played
from optimizer.records.calibration import NextStep
from optimizer.records.layout import LayoutRecord

PIN_MM = 0.05
"""How well a pin gauge tells a hole's diameter: common practice, no source."""

THERMOMETER_K = 0.5
"""How well a thermometer tells the air: common practice, no source."""


class Candidate(NamedTuple):
    """Something that can be measured: `note` or `gauge`, its name, its row (P,) and one deviation."""

    kind: Literal["note", "gauge"]
    name: str
    row: Floats
    sd: float


def candidates(
    record: LayoutRecord, model: Played, slopes: Floats, note_sd: float, played: frozenset[int] = frozenset()
) -> list[Candidate]:
    """Every main note, and everything that may be gauged: printed holes, bores of printed pieces, the air.

    Parameters
    ----------
    record : the layout
    model : what may differ
    slopes : (N, P) of the notes
    note_sd : one deviation of a note that is played [cents]
    played : places of notes that are measured already
    """
    found = [
        Candidate("note", note.written, slopes[place], note_sd)
        for place, note in enumerate(model.layout.notes)
        if not note.alternate and place not in played
    ]
    for name, kind in zip(model.names, model.kinds, strict=True):
        if kind == "hole_diameter_mm":
            found.append(Candidate("gauge", name, row_of(model, "hole", name.removeprefix("diameter of ")), PIN_MM))
        elif kind == "temperature_degC":
            air = np.where(np.array(model.names) == name, model.sd, 0.0)
            found.append(Candidate("gauge", name, air, THERMOMETER_K))
    for name, (begin, end) in printed_bores(record).items():
        if name in model.names:
            found.append(Candidate("gauge", name, row_of(model, "bore", f"{0.5 * (begin + end)}"), PIN_MM))
    return found


def best_next(model: Played, slopes: Floats, covariance: Floats, offered: list[Candidate], most: int) -> list[NextStep]:
    """What to measure, in order.

    Parameters
    ----------
    model : what may differ
    slopes : (N, P) of the notes
    covariance : (P, P) of the numbers so far
    offered : what can be measured, each once
    most : how many to name
    """
    main = slopes[model.layout.main] * ~model.of_measurement
    known, left = covariance.copy(), list(offered)
    steps: list[NextStep] = []
    while left and len(steps) < most:
        rows = np.array([each.row for each in left])
        seen = rows @ known
        variance = np.einsum("cp,cp->c", seen, rows) + np.array([each.sd for each in left]) ** 2
        gain = np.sum((main @ seen.T) ** 2, axis=0) / variance
        best = int(np.argmax(gain))
        known = known - np.outer(seen[best], seen[best]) / variance[best]
        chosen = left.pop(best)
        steps.append(NextStep(kind=chosen.kind, name=chosen.name, doubt_cents=doubt_of(main, known)))
    return steps


def doubt_of(rows: Floats, covariance: Floats) -> float:
    """Root mean square of the deviations of notes with these slopes (N, P) [cents].

    Parameters
    ----------
    rows : (N, P)
    covariance : (P, P)
    """
    return float(np.sqrt(np.mean(np.einsum("np,pq,nq->n", rows, covariance, rows))))
