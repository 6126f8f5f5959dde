"""The array types of this package: NumPy arrays, or duals of them where slopes are wanted."""

from collections.abc import Callable
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = Any
"""A NumPy array, or a `duals.Dual` of one: formulas take both."""

Floats: TypeAlias = NDArray[np.float64]
Complexes: TypeAlias = NDArray[np.complex128]


def map_arrays(function: Callable[..., Any], first: Any, *others: Any) -> Any:
    """Named tuples of one shape, nested or not, with a function applied to the arrays that correspond.

    Parameters
    ----------
    function : takes as many arrays as there are tuples
    first, others : the tuples, or arrays
    """
    if isinstance(first, tuple):
        kind: Any = type(first)
        return kind(*(map_arrays(function, *parts) for parts in zip(first, *others, strict=True)))
    return function(first, *others)


def leaves(tree: Any) -> list[Any]:
    """The arrays of nested named tuples, in order."""
    if isinstance(tree, tuple):
        return [leaf for part in tree for leaf in leaves(part)]
    return [tree]
