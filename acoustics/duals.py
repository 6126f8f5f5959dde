"""Forward differentiation of NumPy code: an array that carries its slopes by a few numbers along.

A formula written with NumPy's operators and functions gives values for arrays, and values with slopes for `Dual`s,
through NumPy's own dispatch (NEP 13 and NEP 18). There is nothing to compile and nothing to trace; what is compared or
used as an index is the value. Source: Griewank & Walther, *Evaluating Derivatives* (2008), chapter 3, forward mode.

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

_FUNCTIONS: dict[Any, Callable[..., Any]] = {}


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
        return self.value.shape

    @property
    def ndim(self) -> int:
        return self.value.ndim

    @property
    def size(self) -> int:
        return self.value.size

    @property
    def real(self) -> Dual:
        return Dual(self.value.real, self.slope.real)

    @property
    def imag(self) -> Dual:
        return Dual(self.value.imag, self.slope.imag)

    def __len__(self) -> int:
        return len(self.value)

    def __getitem__(self, index: Any) -> Dual:
        if isinstance(index, np.ndarray) and index.dtype.kind == "i":
            return Dual(self.value[index], _full(self).take(index, axis=1))
        within = index if isinstance(index, tuple) else (index,)
        return Dual(self.value[index], _full(self)[(slice(None), *within)])

    def reshape(self, *shape: Any) -> Dual:
        value = self.value.reshape(*shape)
        return Dual(value, _full(self).reshape(-1, *value.shape))

    def ravel(self) -> Dual:
        return self.reshape(-1)

    # arithmetic

    def __add__(self, other: Any) -> Dual:
        if isinstance(other, Dual):
            value = self.value + other.value
            return Dual(value, _raised(self, value.ndim) + _raised(other, value.ndim))
        value = self.value + other
        return Dual(value, _raised(self, value.ndim))

    __radd__ = __add__

    def __neg__(self) -> Dual:
        return Dual(-self.value, -self.slope)

    def __sub__(self, other: Any) -> Dual:
        if isinstance(other, Dual):
            value = self.value - other.value
            return Dual(value, _raised(self, value.ndim) - _raised(other, value.ndim))
        value = self.value - other
        return Dual(value, _raised(self, value.ndim))

    def __rsub__(self, other: Any) -> Dual:
        value = other - self.value
        return Dual(value, -_raised(self, value.ndim))

    def __mul__(self, other: Any) -> Dual:
        if isinstance(other, Dual):
            value = self.value * other.value
            return Dual(value, _raised(self, value.ndim) * other.value + _raised(other, value.ndim) * self.value)
        value = self.value * other
        return Dual(value, _raised(self, value.ndim) * other)

    __rmul__ = __mul__

    def __truediv__(self, other: Any) -> Dual:
        if isinstance(other, Dual):
            inverse = 1.0 / other.value
            value = self.value * inverse
            return Dual(value, (_raised(self, value.ndim) - _raised(other, value.ndim) * value) * inverse)
        return self * (1.0 / np.asarray(other))

    def __rtruediv__(self, other: Any) -> Dual:
        inverse = 1.0 / self.value
        value = other * inverse
        return Dual(value, _raised(self, value.ndim) * (-value * inverse))

    def __pow__(self, exponent: float) -> Dual:
        if exponent == 2:
            return self.by(self.value * self.value, 2.0 * self.value)
        return self.by(self.value**exponent, exponent * self.value ** (exponent - 1))

    def __matmul__(self, matrix: NDArray[Any]) -> Dual:
        return Dual(self.value @ matrix, _full(self) @ matrix)

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
        rule = _UFUNCS.get(ufunc)
        if rule is None or method != "__call__" or kwargs:
            return NotImplemented
        return rule(*inputs)

    def __array_function__(self, function: Any, types: Any, arguments: Any, kwargs: Any) -> Any:
        rule = _FUNCTIONS.get(function)
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
        return _full(item)
    return np.zeros((count, *np.shape(item)))


def _raised(item: Dual, ndim: int) -> NDArray[Any]:
    """Slopes that broadcast with values of ndim axes."""
    missing = ndim - item.value.ndim
    if missing == 0:
        return item.slope
    return item.slope.reshape(item.slope.shape[0], *(1,) * missing, *item.slope.shape[1:])


def _full(item: Dual) -> NDArray[Any]:
    """Slopes in the full shape (P, ...)."""
    wanted = (item.slope.shape[0], *item.value.shape)
    return item.slope if item.slope.shape == wanted else np.broadcast_to(item.slope, wanted)


def _count(items: Sequence[Any]) -> int:
    return next(len(item.slope) for item in items if isinstance(item, Dual))


def chained(value: Any, *links: tuple[Any, Any]) -> Any:
    """A value whose rates of change by some numbers are known, by the chain rule: each link is (rate, number), of
    shapes that broadcast with the value's; the value by itself where none of the numbers is a dual."""
    slope = None
    for rate, item in links:
        if isinstance(item, Dual):
            part = _raised(item, value.ndim) * rate
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


def _pick(chosen: Any, one: Any, other: Any) -> Any:
    """one where chosen, else other."""
    count = _count([one, other])
    value = np.where(chosen, value_of(one), value_of(other))
    sides: list[Any] = [_raised(side, value.ndim) if isinstance(side, Dual) else 0.0 for side in (one, other)]
    slope = sides[0] if isinstance(one, Dual) and np.all(chosen) else np.where(chosen, *sides)
    return Dual(value, slope if slope.ndim == value.ndim + 1 else np.broadcast_to(slope, (count, *value.shape)))


def _alone(function: Any, rate: Callable[[Any, Any], Any]) -> Callable[[Dual], Dual]:
    def rule(item: Dual) -> Dual:
        value = function(item.value)
        return item.by(value, rate(item.value, value))

    return rule


def _maximum(one: Any, other: Any) -> Any:
    return _pick(value_of(one) >= value_of(other), one, other)


def _minimum(one: Any, other: Any) -> Any:
    return _pick(value_of(one) <= value_of(other), one, other)


def _power(base: Any, exponent: Any) -> Any:
    return base**exponent if isinstance(base, Dual) else NotImplemented


def _times(one: Any, other: Any) -> Dual:
    found: Dual = one * other if isinstance(one, Dual) else other.__rmul__(one)
    return found


_UFUNCS: dict[Any, Callable[..., Any]] = {
    np.add: lambda one, other: one + other if isinstance(one, Dual) else other.__radd__(one),
    np.subtract: lambda one, other: one - other if isinstance(one, Dual) else other.__rsub__(one),
    np.multiply: _times,
    np.true_divide: lambda one, other: one / other if isinstance(one, Dual) else other.__rtruediv__(one),
    np.power: _power,
    np.negative: lambda item: -item,
    np.maximum: _maximum,
    np.minimum: _minimum,
    np.greater: lambda one, other: value_of(one) > value_of(other),
    np.greater_equal: lambda one, other: value_of(one) >= value_of(other),
    np.less: lambda one, other: value_of(one) < value_of(other),
    np.less_equal: lambda one, other: value_of(one) <= value_of(other),
    np.isinf: lambda item: np.isinf(item.value),
    np.isnan: lambda item: np.isnan(item.value),
    np.square: lambda item: item.by(item.value * item.value, 2.0 * item.value),
    np.sqrt: _alone(np.sqrt, lambda x, y: 0.5 / y),
    np.exp: _alone(np.exp, lambda x, y: y),
    np.expm1: _alone(np.expm1, lambda x, y: y + 1.0),
    np.log: _alone(np.log, lambda x, y: 1.0 / x),
    np.log2: _alone(np.log2, lambda x, y: 1.0 / (x * np.log(2.0))),
    np.sin: _alone(np.sin, lambda x, y: np.cos(x)),
    np.cos: _alone(np.cos, lambda x, y: -np.sin(x)),
    np.tanh: _alone(np.tanh, lambda x, y: 1.0 - y * y),
    np.sinh: _alone(np.sinh, lambda x, y: np.cosh(x)),
    np.cosh: _alone(np.cosh, lambda x, y: np.sinh(x)),
    np.arcsin: _alone(np.arcsin, lambda x, y: 1.0 / np.sqrt(1.0 - x * x)),
    np.arctan: _alone(np.arctan, lambda x, y: 1.0 / (1.0 + x * x)),
    np.abs: _alone(np.abs, lambda x, y: np.sign(x)),
    np.remainder: lambda item, by: Dual(np.mod(item.value, by), item.slope),
    np.radians: _alone(np.radians, lambda x, y: np.pi / 180.0),
}


def _rule(function: Any) -> Callable[[Fn], Fn]:
    def note(rule: Fn) -> Fn:
        _FUNCTIONS[function] = rule
        return rule

    return note


@_rule(np.where)
def _where(chosen: Any, one: Any, other: Any) -> Any:
    return _pick(value_of(chosen), one, other)


@_rule(np.clip)
def _clip(item: Any, low: Any, high: Any) -> Any:
    return np.minimum(np.maximum(item, low), high)


@_rule(np.concatenate)
def _concatenate(items: Sequence[Any], axis: int = 0) -> Any:
    count = _count(items)
    value = np.concatenate([value_of(item) for item in items], axis=axis)
    slopes = [slopes_of(item, count) for item in items]
    return Dual(value, np.concatenate(slopes, axis=axis + 1 if axis >= 0 else axis))


@_rule(np.stack)
def _stack(items: Sequence[Any], axis: int = 0) -> Any:
    count = _count(items)
    value = np.stack([value_of(item) for item in items], axis=axis)
    return Dual(value, np.stack([slopes_of(item, count) for item in items], axis=axis + 1 if axis >= 0 else axis))


@_rule(np.append)
def _append(item: Any, more: Any) -> Any:
    return np.concatenate([np.ravel(item), np.ravel(more)])


@_rule(np.ravel)
def _ravel(item: Any) -> Any:
    return item.reshape(-1)


@_rule(np.reshape)
def _reshape(item: Any, shape: Any) -> Any:
    return item.reshape(shape)


@_rule(np.atleast_1d)
def _atleast_1d(item: Any) -> Any:
    return item if item.ndim else item.reshape(1)


@_rule(np.broadcast_to)
def _broadcast_to(item: Any, shape: Any) -> Any:
    value = np.broadcast_to(item.value, shape)
    return Dual(value, np.broadcast_to(_raised(item, value.ndim), (item.slope.shape[0], *value.shape)))


@_rule(np.tile)
def _tile(item: Any, times: int) -> Any:
    return np.concatenate([item] * times)


@_rule(np.sum)
def _sum(item: Any, axis: int | None = None) -> Any:
    slope = _full(item)
    axes = tuple(range(1, slope.ndim)) if axis is None else axis + 1 if axis >= 0 else axis
    return Dual(np.sum(item.value, axis=axis), np.sum(slope, axis=axes))


def _extreme(item: Any, pick: Any, axis: int, keepdims: bool) -> Any:
    where = np.expand_dims(pick(item.value, axis=axis), axis)
    slope = np.take_along_axis(_full(item), where[None], axis=axis + 1 if axis >= 0 else axis)
    found = Dual(np.take_along_axis(item.value, where, axis=axis), slope)
    if keepdims:
        return found
    return Dual(np.squeeze(found.value, axis), np.squeeze(slope, axis + 1 if axis >= 0 else axis))


@_rule(np.min)
def _min(item: Any, axis: int | None = None, keepdims: bool = False) -> Any:
    return _extreme(item if axis is not None else item.reshape(-1), np.argmin, axis or 0, keepdims)


@_rule(np.max)
def _max(item: Any, axis: int | None = None, keepdims: bool = False) -> Any:
    return _extreme(item if axis is not None else item.reshape(-1), np.argmax, axis or 0, keepdims)


@_rule(np.take_along_axis)
def _take_along_axis(item: Any, index: Any, axis: int) -> Any:
    if axis >= 0:
        raise NotImplementedError("along an axis counted from the last")
    slope = np.take_along_axis(_full(item), np.broadcast_to(index, (item.slope.shape[0], *index.shape)), axis=axis)
    return Dual(np.take_along_axis(item.value, index, axis=axis), slope)


@_rule(np.shape)
def _shape(item: Any) -> Any:
    return item.value.shape


@_rule(np.ndim)
def _ndim(item: Any) -> Any:
    return item.value.ndim


@_rule(np.size)
def _size(item: Any) -> Any:
    return item.value.size
