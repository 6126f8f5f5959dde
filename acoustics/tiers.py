"""Which means work a chart out: the compiled kernel where it is at hand, else NumPy. Both give the same."""

import numpy as np

from acoustics import kernel
from acoustics.chain import Chain
from acoustics.charts import Found, Notes, chart_errors


def in_use() -> str:
    """The tier that answers: `kernel` with its variant, or `numpy`."""
    variant = kernel.at_hand()
    return "numpy" if variant is None else f"kernel-{variant}"


def errors_of(chain: Chain, notes: Notes, slopes: bool, interaction: bool = True) -> Found:
    """Errors of a chart on a batch of ducts: chain.vector (B, count), each field of the result with a leading (B,).

    A duct whose openings lie so close that the kernel's elimination without pivoting would lose digits is worked out
    in NumPy, which pivots.
    """
    variant = kernel.at_hand()
    if variant is None:
        return _each(chain, notes, slopes, interaction)
    found, least = kernel.chart_errors(chain, notes, slopes, interaction, variant)
    doubtful = np.flatnonzero(~np.all(least > kernel.LEAST_PIVOT, axis=1) | ~np.all(np.isfinite(found.error), axis=1))
    if doubtful.size:
        rest = chain._replace(vector=chain.vector[doubtful], hole=chain.hole[doubtful])
        again = _each(rest, notes, slopes, interaction)
        for row, better in zip(found, again, strict=True):
            if row is not None:
                row[doubtful] = better
    return found


def _each(chain: Chain, notes: Notes, slopes: bool, interaction: bool) -> Found:
    singles = [chain._replace(vector=vector, hole=hole) for vector, hole in zip(chain.vector, chain.hole, strict=True)]
    found = [chart_errors(one, notes, slopes, interaction) for one in singles]
    slope = np.stack([one.slope for one in found if one.slope is not None]) if slopes else None
    return Found(np.stack([one.error for one in found]), np.stack([one.alone for one in found]), slope)
