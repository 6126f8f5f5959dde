"""Which means work a chart out: the compiled kernel where it is at hand, else NumPy. Both give the same."""

import numpy as np

from acoustics.chain import Chain
from acoustics.charts import Found, Notes, chart_errors


def errors_of(chain: Chain, notes: Notes, slopes: bool, interaction: bool = True) -> Found:
    """Errors of a chart on a batch of ducts: chain.vector (B, count), each field of the result with a leading (B,)."""
    singles = [chain._replace(vector=vector, hole=hole) for vector, hole in zip(chain.vector, chain.hole, strict=True)]
    found = [chart_errors(one, notes, slopes, interaction) for one in singles]
    slope = np.stack([one.slope for one in found if one.slope is not None]) if slopes else None
    return Found(np.stack([one.error for one in found]), np.stack([one.alone for one in found]), slope)
