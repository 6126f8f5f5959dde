"""Which means work a chart out: the compiled kernel where it is at hand, else NumPy. Both give the same.

Whatever numbers a duct has, errors and slopes are finite and nothing is raised: see `WORST_CENTS`.
"""

from contextlib import suppress

import numpy as np

from acoustics import kernel
from acoustics.chain import Chain
from acoustics.chart_elements import Notes
from acoustics.charts import Found, chart_errors

WORST_CENTS = 1e6
"""A note that cannot be worked out, as on a duct of no width, counts as so far out of tune, and nothing moves it."""


def in_use() -> str:
    """The tier that answers: `kernel` with its variant, or `numpy`."""
    variant = kernel.at_hand()
    return "numpy" if variant is None else f"kernel-{variant}"


def errors_of(chain: Chain, notes: Notes, slopes: bool, interaction: bool = True) -> Found:
    """Errors of a chart on a batch of ducts, each field with a leading (B,); see `charts.chart_errors`.

    A duct whose openings lie so close that the kernel's elimination without pivoting would lose digits is worked out
    in NumPy, which pivots.

    Parameters
    ----------
    chain : vector (B, numbers), hole (B, M)
    notes : the chart as data
    slopes : whether slopes by the chain's vector are wanted
    interaction : whether the openings act on each other outside
    """
    variant = kernel.at_hand()
    if variant is None:
        return _finite(_each(chain, notes, slopes, interaction))
    found, least = kernel.chart_errors(chain, notes, slopes, interaction, variant)
    doubtful = np.flatnonzero(np.any(~(least > kernel.LEAST_PIVOT) | _lost(found), axis=1))
    if doubtful.size:
        rest = chain._replace(vector=chain.vector[doubtful], hole=chain.hole[doubtful])
        again = _each(rest, notes, slopes, interaction)
        for row, better in zip(found, again, strict=True):
            if row is not None:
                row[doubtful] = better
    return _finite(found)


def _each(chain: Chain, notes: Notes, slopes: bool, interaction: bool) -> Found:
    shape = (len(chain.vector), len(notes.openness))
    slope = np.full((*shape, chain.sizes.numbers), np.nan) if slopes else None
    found = Found(np.full(shape, np.nan), np.full(shape, np.nan), slope)
    for number, (vector, hole) in enumerate(zip(chain.vector, chain.hole, strict=True)):
        with np.errstate(all="ignore"), suppress(np.linalg.LinAlgError):
            one = chart_errors(chain._replace(vector=vector, hole=hole), notes, slopes, interaction)
            for row, part in zip(found, one, strict=True):
                if row is not None:
                    row[number] = part
    return found


def _lost(found: Found) -> np.ndarray:
    """Notes (B, N) with a number that is none."""
    whole = np.isfinite(found.error) & np.isfinite(found.alone)
    if found.slope is not None:
        whole &= np.all(np.isfinite(found.slope), axis=-1)
    return ~whole


def _finite(found: Found) -> Found:
    """The same with `WORST_CENTS`, and no slope, where a note could not be worked out."""
    lost = _lost(found)
    if np.any(lost):
        found.error[lost] = found.alone[lost] = WORST_CENTS
        if found.slope is not None:
            found.slope[lost] = 0.0
    return found
