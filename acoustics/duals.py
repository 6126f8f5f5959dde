"""Forward differentiation of NumPy code: an array that carries its slopes by a few numbers along.

A formula written with NumPy's operators and functions gives values for arrays, and values with slopes for `Dual`s,
through NumPy's own dispatch (NEP 13 and NEP 18). There is nothing to compile and nothing to trace; what is compared or
used as an index is the value. What NumPy's functions do with duals is in `dual_rules`. Source: Griewank & Walther,
*Evaluating Derivatives* (2008), chapter 3, forward mode.

| quantity | code | shape |
|---|---|---|
| value, real or complex | value | (...) |
| slopes by P numbers | slope | (P, ...) |
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

Fn = TypeVar("Fn", bound=Callable[..., Any])

UFUNCS: dict[Any, Callable[..., Any]] = {}
FUNCTIONS: dict[Any, Callable[..., Any]] = {}
"""What NumPy's functions do with duals, filled by `dual_rules`."""


class Dual:
    """An array (...) with its slopes (P, ...) by P numbers; see the module."""

    __slots__ = ("slope", "value")
    __array_priority__ = 1000.0
    __hash__ = None  # type: ignore[assignment]

    def __init__(self, value: Any, slope: Any) -> None:
        self.value: NDArray[Any] = value if type(value) is np.ndarray else np.asarray(value)
        self.slope: NDArray[Any] = slope

    # shape

    @property
    def shape(self) -> tuple[int, ...]:
        """Of the value."""
        return self.value.shape

    @property
    def ndim(self) -> int:
        """Of the value."""
        return self.value.ndim

    @property
    def size(self) -> int:
        """Of the value."""
        return self.value.size

    @property
    def real(self) -> Dual:
        """The real part, with its slopes."""
        return Dual(self.value.real, self.slope.real)

    @property
    def imag(self) -> Dual:
        """The imaginary part, with its slopes."""
        return Dual(self.value.imag, self.slope.imag)

    def __len__(self) -> int:
        return len(self.value)

    def __getitem__(self, index: Any) -> Dual:
        if isinstance(index, np.ndarray) and index.dtype.kind == "i":
            return Dual(self.value[index], full(self).take(index, axis=1))
        within = index if isinstance(index, tuple) else (index,)
        return Dual(self.value[index], full(self)[(slice(None), *within)])

    def reshape(self, *shape: Any) -> Dual:
        """The same numbers in another shape."""
        value, slope = self.value.reshape(*shape), full(self)
        return Dual(value, slope.reshape(len(slope), *value.shape))

    def ravel(self) -> Dual:
        """The same numbers in a row."""
        return self.reshape(-1)

    # arithmetic

    def __add__(self, other: Any) -> Dual:
        if isinstance(other, Dual):
            value = self.value + other.value
            return Dual(value, raised(self, value.ndim) + raised(other, value.ndim))
        value = self.value + other
        return Dual(value, raised(self, value.ndim))

    __radd__ = __add__

    def __neg__(self) -> Dual:
        return Dual(-self.value, -self.slope)

    def __sub__(self, other: Any) -> Dual:
        if isinstance(other, Dual):
            value = self.value - other.value
            return Dual(value, raised(self, value.ndim) - raised(other, value.ndim))
        value = self.value - other
        return Dual(value, raised(self, value.ndim))

    def __rsub__(self, other: Any) -> Dual:
        value = other - self.value
        return Dual(value, -raised(self, value.ndim))

    def __mul__(self, other: Any) -> Dual:
        if isinstance(other, Dual):
            value = self.value * other.value
            return Dual(value, raised(self, value.ndim) * other.value + raised(other, value.ndim) * self.value)
        value = self.value * other
        return Dual(value, raised(self, value.ndim) * other)

    __rmul__ = __mul__

    def __truediv__(self, other: Any) -> Dual:
        if isinstance(other, Dual):
            inverse = 1.0 / other.value
            value = self.value * inverse
            return Dual(value, (raised(self, value.ndim) - raised(other, value.ndim) * value) * inverse)
        return self * (1.0 / np.asarray(other))

    def __rtruediv__(self, other: Any) -> Dual:
        inverse = 1.0 / self.value
        value = np.multiply(other, inverse)  # a scalar is a float too, which a complex number makes one of Python's
        return Dual(value, raised(self, value.ndim) * (-value * inverse))

    def __pow__(self, exponent: float) -> Dual:
        if exponent == 2:
            return self.by(self.value * self.value, 2.0 * self.value)
        return self.by(self.value**exponent, exponent * self.value ** (exponent - 1))

    def __matmul__(self, matrix: NDArray[Any]) -> Dual:
        return Dual(self.value @ matrix, full(self) @ matrix)

    def by(self, value: Any, rate: Any) -> Dual:
        """A function of this alone: its value, and its slope by this."""
        return Dual(value, self.slope * rate)

    def rated(self, function: Callable[[Any], Any], rate: Callable[[Any, Any], Any]) -> Dual:
        """A function of this whose slope is rate(argument, result)."""
        value = function(self.value)
        return self.by(value, rate(self.value, value))

    # comparisons are those of the values

    def __lt__(self, other: Any) -> Any:
        return self.value < value_of(other)

    def __le__(self, other: Any) -> Any:
        return self.value <= value_of(other)

    def __gt__(self, other: Any) -> Any:
        return self.value > value_of(other)

    def __ge__(self, other: Any) -> Any:
        return self.value >= value_of(other)

    # NumPy's dispatch

    def __array_ufunc__(self, ufunc: Any, method: str, *inputs: Any, **kwargs: Any) -> Any:
        rule = UFUNCS.get(ufunc)
        if rule is None or method != "__call__" or kwargs:
            return NotImplemented
        return rule(*inputs)

    def __array_function__(self, function: Any, types: Any, arguments: Any, kwargs: Any) -> Any:
        rule = FUNCTIONS.get(function)
        return NotImplemented if rule is None else rule(*arguments, **kwargs)


def value_of(item: Any) -> Any:
    """The value of a dual, or the item itself."""
    return item.value if isinstance(item, Dual) else item


def variables(values: Sequence[Any]) -> list[Dual]:
    """Arrays of one shape (...) as the numbers by which slopes are taken, in their order."""
    rows = np.broadcast_arrays(*[np.asarray(value, float) for value in values])
    count = len(rows)
    unit = np.eye(count).reshape(count, count, *(1,) * rows[0].ndim)
    return [Dual(row, unit[:, number] + np.zeros(row.shape)) for number, row in enumerate(rows)]


def slopes_of(item: Any, count: int) -> NDArray[Any]:
    """Slopes (count, ...) of a dual; zeros for what is none."""
    if isinstance(item, Dual):
        return full(item)
    return np.zeros((count, *np.shape(item)))


def raised(item: Dual, ndim: int) -> NDArray[Any]:
    """Slopes that broadcast with values of ndim axes."""
    missing = ndim - item.value.ndim
    if missing == 0:
        return item.slope
    return item.slope.reshape(item.slope.shape[0], *(1,) * missing, *item.slope.shape[1:])


def full(item: Dual) -> NDArray[Any]:
    """Slopes in the full shape (P, ...)."""
    wanted = (item.slope.shape[0], *item.value.shape)
    return item.slope if item.slope.shape == wanted else np.broadcast_to(item.slope, wanted)


def count_of(items: Sequence[Any]) -> int:
    """By how many numbers the duals among some items have slopes."""
    return next(len(item.slope) for item in items if isinstance(item, Dual))


def chained(value: Any, *links: tuple[Any, Any]) -> Any:
    """A value whose rates of change by some numbers are known, by the chain rule.

    Parameters
    ----------
    value : (...)
    links : pairs (rate, number) of shapes that broadcast with the value's

    Returns
    -------
    a dual; the value by itself where none of the numbers is one
    """
    slope = None
    for rate, item in links:
        if isinstance(item, Dual):
            part = raised(item, value.ndim) * rate
            slope = part if slope is None else slope + part
    return value if slope is None else Dual(value, slope)


def with_rate(rate: Callable[[Any, Any], Any]) -> Callable[[Fn], Fn]:
    """Give a function of one array its slope in closed form: rate(argument, result)."""

    def decorate(function: Fn) -> Fn:
        def call(argument: Any) -> Any:
            return argument.rated(function, rate) if hasattr(argument, "rated") else function(argument)

        call.__doc__, call.__name__ = function.__doc__, function.__name__
        return call  # type: ignore[return-value]

    return decorate
