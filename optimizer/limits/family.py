"""What a limit is made of, and what several kinds of limits share.

What a project alone decides is arrays, made once with the constraints. Arrays are small, so that time goes by the
number of operations: a family works on all its rows at once.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from acoustics.arrays import Array
from optimizer.geometry.measured_layout import Geometry
from optimizer.geometry.surface import NEVER_MM


@dataclass(frozen=True)
class Constraint:
    """One inequality: a stable name such as `web.h05-h06` and a sentence saying what must hold."""

    name: str
    sentence: str


Values: TypeAlias = Callable[[Geometry], Array]
Family: TypeAlias = tuple[list[Constraint], Values]
"""Constraints of one kind, and the function that gives all their values (m,) [mm], feasible at <= 0."""

NO_FAMILY: Family = ([], lambda at: np.zeros(0))


def in_force(values: Array, wanted: np.ndarray) -> Array:
    """Values of limits (m,) [mm], those not wanted (m,) put out of force."""
    return values if wanted.all() else np.where(wanted, values, NEVER_MM)
