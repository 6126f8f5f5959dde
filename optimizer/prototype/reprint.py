"""Which one piece is better printed anew than corrected: by slopes, with all its holes as wide as is best.

A piece printed anew has the printer's scatter again: what a new draw of its holes brings to the notes is counted
against it.
"""

import numpy as np
import scipy

from acoustics.arrays import Floats
from optimizer.prototype.bench import Bench
from optimizer.prototype.changes import Change
from optimizer.records.correction import Reprint
from optimizer.records.layout import LayoutRecord

FREE_MM = 1.0
"""How far diameters of a piece printed anew may differ: as far as slopes hold."""

WORTH_CENTS = 1.0
"""A reprint that gains less is not told: common practice, no source."""

TENTH_MM = 0.1


def best_reprint(record: LayoutRecord, bench: Bench, main: np.ndarray, cents: Floats) -> Reprint | None:
    """The piece whose reprint gains most, if that is worth it.

    Parameters
    ----------
    record : the layout
    bench : of it
    main : (N,) True for no alternate
    cents : (N,) the notes once the list is done
    """
    before = float(np.sqrt(np.mean(cents[main] ** 2)))
    found = []
    for number, piece in enumerate(record.pieces, start=1):
        if not piece.holes:
            continue
        slopes = np.column_stack(
            [bench.moved([Change("ream", hole, TENTH_MM)])[main] / TENTH_MM for hole in piece.holes]
        )
        fitted = scipy.optimize.lsq_linear(slopes, -cents[main], (-FREE_MM, FREE_MM))
        scatter = slopes * record.reference.uncertainty.hole_diameter_mm
        after = float(np.sqrt((2.0 * fitted.cost + np.sum(scatter**2)) / np.sum(main)))
        found.append(Reprint(piece=number, rms_cents=after, gain_cents=before - after, words=_words(record, number)))
    best = max(found, key=lambda each: each.gain_cents, default=None)
    return best if best is not None and best.gain_cents > WORTH_CENTS else None


def _words(record: LayoutRecord, number: int) -> str:
    kept = ",".join(str(other) for other in range(1, len(record.pieces) + 1) if other != number)
    return (
        f"search from the corrected layout with pieces {kept} locked, to draw piece {number} anew"
        if kept
        else "search anew from the fit: the body is one piece"
    )
