"""What NumPy's functions do with duals: for each the value, and the slopes by the chain rule."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from acoustics.duals import FUNCTIONS, UFUNCS, Dual, Fn, count_of, full, raised, slopes_of, value_of


def _pick(chosen: Any, one: Any, other: Any, value: Any) -> Dual:
    """one where chosen, else other, of which one is a dual at least; value: what that comes to."""
    first, second = (raised(side, value.ndim) if isinstance(side, Dual) else 0.0 for side in (one, other))
    if isinstance(one, Dual) and np.all(chosen):
        return Dual(value, first)
    return Dual(value, np.where(chosen, first, second))


def _alone(function: Any, rate: Callable[[Any, Any], Any]) -> Callable[[Dual], Dual]:
    def rule(item: Dual) -> Dual:
        value = function(item.value)
        return item.by(value, rate(item.value, value))

    return rule


def _maximum(one: Any, other: Any) -> Any:
    first, second = value_of(one), value_of(other)
    return _pick(first >= second, one, other, np.maximum(first, second))


def _minimum(one: Any, other: Any) -> Any:
    first, second = value_of(one), value_of(other)
    return _pick(first <= second, one, other, np.minimum(first, second))


def _power(base: Any, exponent: Any) -> Any:
    return base**exponent if isinstance(base, Dual) else NotImplemented


def _times(one: Any, other: Any) -> Any:
    return one * other if isinstance(one, Dual) else other.__rmul__(one)


UFUNCS.update(
    {
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
)


def _rule(function: Any) -> Callable[[Fn], Fn]:
    def note(rule: Fn) -> Fn:
        FUNCTIONS[function] = rule
        return rule

    return note


@_rule(np.where)
def _where(chosen: Any, one: Any, other: Any) -> Any:
    chosen = value_of(chosen)
    return _pick(chosen, one, other, np.where(chosen, value_of(one), value_of(other)))


@_rule(np.clip)
def _clip(item: Any, low: Any, high: Any) -> Any:
    return np.minimum(np.maximum(item, low), high)


@_rule(np.concatenate)
def _concatenate(items: Sequence[Any], axis: int = 0) -> Any:
    count = count_of(items)
    value = np.concatenate([value_of(item) for item in items], axis=axis)
    slopes = [slopes_of(item, count) for item in items]
    return Dual(value, np.concatenate(slopes, axis=axis + 1 if axis >= 0 else axis))


@_rule(np.stack)
def _stack(items: Sequence[Any], axis: int = 0) -> Any:
    count = count_of(items)
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
    return Dual(value, np.broadcast_to(raised(item, value.ndim), (item.slope.shape[0], *value.shape)))


@_rule(np.tile)
def _tile(item: Any, times: int) -> Any:
    return np.concatenate([item] * times)


@_rule(np.sum)
def _sum(item: Any, axis: int | None = None) -> Any:
    slope = full(item)
    axes = tuple(range(1, slope.ndim)) if axis is None else axis + 1 if axis >= 0 else axis
    return Dual(np.sum(item.value, axis=axis), np.sum(slope, axis=axes))


def _extreme(item: Any, pick: Any, axis: int, keepdims: bool) -> Any:
    where = np.expand_dims(pick(item.value, axis=axis), axis)
    slope = np.take_along_axis(full(item), where[None], axis=axis + 1 if axis >= 0 else axis)
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
    slope = np.take_along_axis(full(item), np.broadcast_to(index, (item.slope.shape[0], *index.shape)), axis=axis)
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
