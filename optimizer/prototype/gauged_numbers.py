"""Numbers of an instrument that were measured by themselves: a hole's diameter by a pin, the bore of a piece, the air.

A row says what it is by the name that a fit gives it (`diameter of h05`), how far it lies from the layout, and how sure
that is, both in the unit of its kind: mm, cm3, K.
"""

from pathlib import Path

from optimizer.prototype.measured_table import read_table
from optimizer.prototype.quantities import Quantity

QUANTITIES = (
    Quantity("number", "", "what was measured, by the name that a fit gives it", needed=True),
    Quantity("off", "by", "how far it lies from the layout", needed=True, low=-50.0, high=50.0),
    Quantity("sure", "to", "one standard deviation of that", needed=True, low=0.0, high=50.0, at_least=False),
)


def read_gauged(path: Path) -> list[tuple[str, float, float]]:
    """Names, values and standard deviations of what was gauged.

    Parameters
    ----------
    path : CSV text

    Raises
    ------
    TableError
        with everything that is wrong with it
    """
    table = read_table(path, "table of gauged numbers", QUANTITIES)
    return [(row.word("number") or "", row.number("off_by") or 0.0, row.number("sure_to") or 0.0) for row in table.rows]
