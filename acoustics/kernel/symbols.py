"""What formulas are worked out on to become a graph.

A `Symbol` takes NumPy's operators and functions as an array or a `Dual` does, and notes them instead of doing them,
with its slopes by each of an element's numbers (forward mode; numbers that a node does not depend on cost nothing).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from acoustics.kernel.graph import Node, Plain, picked


class Condition:
    """A comparison that is settled only when the kernel runs."""

    def __init__(self, node: Node) -> None:
        self.node = node

    def __bool__(self) -> bool:
        raise TypeError("a formula may not branch on a number; use numpy.where")


class Symbol:
    """A value with its slopes by some of the element's numbers; takes NumPy's operators and functions."""

    __array_priority__ = 1000.0
    __hash__ = None  # type: ignore[assignment]

    def __init__(self, value: Plain, slopes: dict[int, Plain], positive: bool = False) -> None:
        self.value, self.positive = value, positive
        self.slopes = {number: slope for number, slope in slopes.items() if not slope.zero}

    def by(self, value: Plain, rate: Any) -> Symbol:
        """A function of this alone: its value, and its slope by this."""
        return Symbol(value, {number: slope * rate for number, slope in self.slopes.items()})

    def rated(self, function: Callable[[Any], Any], rate: Callable[[Any, Any], Any]) -> Symbol:
        """A function of this whose slope is rate(argument, result)."""
        still = Symbol(self.value, {})
        found = function(still)
        return self.by(found.value, rate(still, found).value)

    def _with(self, other: Any) -> tuple[Plain, dict[int, Plain]]:
        return (other.value, other.slopes) if isinstance(other, Symbol) else (self.value._of(other), {})

    @property
    def real(self) -> Symbol:
        """The real part, with its slopes."""
        return self._part(lambda item: Plain(item.graph, item.re))

    @property
    def imag(self) -> Symbol:
        """The imaginary part, with its slopes."""
        return self._part(lambda item: Plain(item.graph, item.graph.constant(0.0) if item.im is None else item.im))

    def _part(self, part: Callable[[Plain], Plain]) -> Symbol:
        return Symbol(part(self.value), {number: part(slope) for number, slope in self.slopes.items()})

    def __add__(self, other: Any) -> Symbol:
        value, slopes = self._with(other)
        return Symbol(self.value + value, _joined(self.slopes, slopes))

    __radd__ = __add__

    def __neg__(self) -> Symbol:
        return self._part(lambda item: -item)

    def __sub__(self, other: Any) -> Symbol:
        value, slopes = self._with(other)
        return Symbol(self.value - value, _joined(self.slopes, {number: -slope for number, slope in slopes.items()}))

    def __rsub__(self, other: Any) -> Symbol:
        return (-self).__add__(other)

    def __mul__(self, other: Any) -> Symbol:
        value, slopes = self._with(other)
        mine = {number: slope * value for number, slope in self.slopes.items()}
        return Symbol(self.value * value, _joined(mine, {number: self.value * s for number, s in slopes.items()}))

    __rmul__ = __mul__

    def __truediv__(self, other: Any) -> Symbol:
        if not isinstance(other, Symbol):
            return self * (1.0 / complex(other) if isinstance(other, complex) else 1.0 / other)
        inverse = other.value.inverse()
        value = self.value * inverse
        mine = {number: slope * inverse for number, slope in self.slopes.items()}
        share = value * inverse
        return Symbol(value, _joined(mine, {number: -(share * s) for number, s in other.slopes.items()}))

    def __rtruediv__(self, other: Any) -> Symbol:
        inverse = self.value.inverse()
        value = inverse * other
        return self.by(value, -(value * inverse))

    def __pow__(self, exponent: float) -> Symbol:
        if float(exponent).is_integer() and 1 <= exponent <= 8:
            found = self
            for _ in range(int(exponent) - 1):
                found = found * self
            return found
        return _exp(_log(self) * float(exponent))

    def __lt__(self, other: Any) -> Any:
        return self._less(self.value, self._with(other)[0])

    def __gt__(self, other: Any) -> Any:
        return np.True_ if self.positive and other == 0.0 else self._less(self._with(other)[0], self.value)

    def _less(self, one: Plain, other: Plain) -> Condition:
        return Condition(one.graph.note("less", one.re, other.re))

    def __array_ufunc__(self, ufunc: Any, method: str, *inputs: Any, **kwargs: Any) -> Any:
        rule = _RULES.get(ufunc)
        return NotImplemented if rule is None or kwargs else rule(*inputs)

    def __array_function__(self, function: Any, types: Any, given: Any, kwargs: Any) -> Any:
        rule = _RULES.get(function)
        return NotImplemented if rule is None or kwargs else rule(*given)


def _joined(one: dict[int, Plain], other: dict[int, Plain]) -> dict[int, Plain]:
    found = dict(one)
    for number, slope in other.items():
        found[number] = found[number] + slope if number in found else slope
    return found


def _exp(item: Symbol) -> Symbol:
    value = item.value.exp()
    return item.by(value, value)


def _log(item: Symbol) -> Symbol:
    return item.by(item.value.call("log"), item.value.inverse())


def _sqrt(item: Symbol) -> Symbol:
    value = item.value.sqrt()
    return item.by(value, value.inverse() * 0.5)


def _tanh(item: Symbol) -> Symbol:
    value = ((item.value + item.value).exp() + 1.0).inverse() * -2.0 + 1.0
    return item.by(value, -(value * value) + 1.0)


def _where(condition: Any, one: Any, other: Any) -> Any:
    if not isinstance(condition, Condition):
        return one if condition else other
    known = one if isinstance(one, Symbol) else other
    one, other = (side if isinstance(side, Symbol) else Symbol(known.value._of(side), {}) for side in (one, other))
    none = known.value._of(0.0)
    slopes = {
        number: picked(condition.node, one.slopes.get(number, none), other.slopes.get(number, none))
        for number in {**one.slopes, **other.slopes}
    }
    return Symbol(picked(condition.node, one.value, other.value), slopes)


def _remainder(item: Symbol, by: float) -> Symbol:
    g = item.value.graph
    turns = Plain(g, g.call("floor", (item.value * (1.0 / by)).re))
    return Symbol(item.value - turns * by, item.slopes)


_RULES: dict[Any, Callable[..., Any]] = {
    np.add: lambda one, other: other + one if isinstance(other, Symbol) else one + other,
    np.subtract: lambda one, other: other.__rsub__(one) if isinstance(other, Symbol) else one - other,
    np.multiply: lambda one, other: other * one if isinstance(other, Symbol) else one * other,
    np.true_divide: lambda one, other: other.__rtruediv__(one) if isinstance(other, Symbol) else one / other,
    np.exp: _exp,
    np.log: _log,
    np.sqrt: _sqrt,
    np.tanh: _tanh,
    np.sin: lambda item: item.by(item.value.call("sin"), item.value.call("cos")),
    np.cos: lambda item: item.by(item.value.call("cos"), -item.value.call("sin")),
    np.remainder: _remainder,
    np.maximum: lambda one, other: _where(one < other, other, one),
    np.minimum: lambda one, other: _where(one < other, one, other),
    np.isinf: lambda item: np.False_,
    np.where: _where,
    np.any: lambda item: True,
    np.all: lambda item: True,
}
