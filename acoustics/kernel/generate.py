"""Writes `elements.h`, the kernel's elements with their slopes, from the formulas in `acoustics.elements`.

Each formula is called once with `Symbol`s in place of arrays: they note what is done to them, by NumPy's dispatch, as a
graph of real operations, slopes by each number included (forward mode, as in `duals`; numbers that a node does not
depend on cost nothing). Equal nodes are one. What does not depend on frequency is written apart, to be worked out once.

`build` runs this when the package is installed: after a change of a formula, install again.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np

from acoustics import elements

Node: TypeAlias = int
WRITTEN = {
    "add": "{} + {}", "sub": "{} - {}", "mul": "{} * {}", "div": "{} / {}", "neg": "-{}", "sqrt": "v_sqrt({})",
    "exp": "v_exp({})", "log": "v_log({})", "sin": "v_sin({})", "cos": "v_cos({})", "floor": "v_floor({})",
    "max": "v_max({}, {})", "min": "v_min({}, {})", "less": "v_less({}, {})", "pick": "v_pick({}, {}, {})",
}  # fmt: skip


class Graph:
    """Real operations, each noted once."""

    def __init__(self) -> None:
        self.nodes: list[tuple[Any, ...]] = []
        self._known: dict[tuple[Any, ...], Node] = {}

    def note(self, *node: Any) -> Node:
        """The number of an operation on nodes."""
        if node not in self._known:
            self._known[node] = len(self.nodes)
            self.nodes.append(node)
        return self._known[node]

    def constant(self, value: float) -> Node:
        return self.note("constant", float(value))

    def value(self, node: Node) -> float | None:
        """The value of a constant."""
        kind, *rest = self.nodes[node]
        return float(rest[0]) if kind == "constant" else None

    def add(self, one: Node, other: Node) -> Node:
        a, b = self.value(one), self.value(other)
        if a is not None and b is not None:
            return self.constant(a + b)
        if a == 0.0:
            return other
        return one if b == 0.0 else self.note("add", *sorted((one, other)))

    def sub(self, one: Node, other: Node) -> Node:
        a, b = self.value(one), self.value(other)
        if a is not None and b is not None:
            return self.constant(a - b)
        if a == 0.0:
            return self.neg(other)
        return one if b == 0.0 else self.note("sub", one, other)

    def neg(self, one: Node) -> Node:
        a = self.value(one)
        if a is not None:
            return self.constant(-a)
        kind, *rest = self.nodes[one]
        return rest[0] if kind == "neg" else self.note("neg", one)

    def mul(self, one: Node, other: Node) -> Node:
        a, b = self.value(one), self.value(other)
        if a is not None and b is not None:
            return self.constant(a * b)
        if 0.0 in (a, b):
            return self.constant(0.0)
        if a == 1.0:
            return other
        if b == 1.0:
            return one
        if a == -1.0 or b == -1.0:
            return self.neg(other if a == -1.0 else one)
        return self.note("mul", *sorted((one, other)))

    def inverse(self, one: Node) -> Node:
        a = self.value(one)
        return self.constant(1.0 / a) if a is not None else self.note("div", self.constant(1.0), one)

    def call(self, name: str, *given: Node) -> Node:
        values = [self.value(node) for node in given]
        if None not in values and name in ("sqrt", "exp", "log", "sin", "cos"):
            return self.constant(getattr(math, name)(*values))
        return self.note(name, *given)


class Plain:
    """A real or complex value of the graph, without slopes."""

    __slots__ = ("graph", "im", "re")

    def __init__(self, graph: Graph, re: Node, im: Node | None = None) -> None:
        self.graph, self.re = graph, re
        self.im = None if im is not None and graph.value(im) == 0.0 else im

    def _of(self, item: Any) -> Plain:
        if isinstance(item, Plain):
            return item
        value = complex(item)
        im = self.graph.constant(value.imag) if value.imag else None
        return Plain(self.graph, self.graph.constant(value.real), im)

    @property
    def zero(self) -> bool:
        return self.im is None and self.graph.value(self.re) == 0.0

    def __add__(self, other: Any) -> Plain:
        g, other = self.graph, self._of(other)
        im = self.im if other.im is None else other.im if self.im is None else g.add(self.im, other.im)
        return Plain(g, g.add(self.re, other.re), im)

    def __neg__(self) -> Plain:
        return Plain(self.graph, self.graph.neg(self.re), None if self.im is None else self.graph.neg(self.im))

    def __sub__(self, other: Any) -> Plain:
        g, other = self.graph, self._of(other)
        if other.im is None:
            return Plain(g, g.sub(self.re, other.re), self.im)
        im = g.neg(other.im) if self.im is None else g.sub(self.im, other.im)
        return Plain(g, g.sub(self.re, other.re), im)

    def __mul__(self, other: Any) -> Plain:
        g, other = self.graph, self._of(other)
        if self.im is None and other.im is None:
            return Plain(g, g.mul(self.re, other.re))
        if self.im is None or other.im is None:
            real, whole = (self, other) if self.im is None else (other, self)
            assert whole.im is not None
            return Plain(g, g.mul(real.re, whole.re), g.mul(real.re, whole.im))
        re = g.sub(g.mul(self.re, other.re), g.mul(self.im, other.im))
        return Plain(g, re, g.add(g.mul(self.re, other.im), g.mul(self.im, other.re)))

    def inverse(self) -> Plain:
        g = self.graph
        if self.im is None:
            return Plain(g, g.inverse(self.re))
        share = g.inverse(g.add(g.mul(self.re, self.re), g.mul(self.im, self.im)))
        return Plain(g, g.mul(self.re, share), g.neg(g.mul(self.im, share)))

    def exp(self) -> Plain:
        g = self.graph
        size = g.call("exp", self.re)
        if self.im is None:
            return Plain(g, size)
        return Plain(g, g.mul(size, g.call("cos", self.im)), g.mul(size, g.call("sin", self.im)))

    def sqrt(self) -> Plain:
        """With positive real part, away from the negative real axis."""
        g = self.graph
        if self.im is None:
            return Plain(g, g.call("sqrt", self.re))
        size = g.call("sqrt", g.add(g.mul(self.re, self.re), g.mul(self.im, self.im)))
        re = g.call("sqrt", g.mul(g.constant(0.5), g.add(size, self.re)))
        return Plain(g, re, g.mul(g.mul(g.constant(0.5), self.im), g.inverse(re)))

    def call(self, name: str) -> Plain:
        assert self.im is None
        return Plain(self.graph, self.graph.call(name, self.re))


def _pick(condition: Node, one: Plain, other: Plain) -> Plain:
    g = one.graph
    re = one.re if one.re == other.re else g.note("pick", condition, one.re, other.re)
    if one.im is None and other.im is None:
        return Plain(g, re)
    zero = g.constant(0.0)
    sides = [zero if side.im is None else side.im for side in (one, other)]
    return Plain(g, re, sides[0] if sides[0] == sides[1] else g.note("pick", condition, *sides))


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
        return self._part(lambda item: Plain(item.graph, item.re))

    @property
    def imag(self) -> Symbol:
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
        number: _pick(condition.node, one.slopes.get(number, none), other.slopes.get(number, none))
        for number in {**one.slopes, **other.slopes}
    }
    return Symbol(_pick(condition.node, one.value, other.value), slopes)


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


class Element:
    """One function of the kernel: its numbers, the formula, what comes out; all complex, but the last where `real`."""

    def __init__(
        self, name: str, numbers: int, formula: Callable[..., Any], constants: int = 0, real: bool = False
    ) -> None:
        self.name, self.numbers, self.graph = name, numbers, Graph()
        one = self.graph.constant(1.0)
        given = [
            Symbol(
                Plain(self.graph, self.graph.note("input", k)),
                {k: Plain(self.graph, one)} if k < numbers else {},
                positive=k >= numbers,
            )
            for k in range(numbers + constants)
        ]
        f = Symbol(Plain(self.graph, self.graph.note("f")), {}, positive=True)
        found = formula(f, *given)
        flat = list(_flat(found))
        none: dict[int, Plain] = {}
        outputs = [item if isinstance(item, Symbol) else Symbol(f.value._of(item), none) for item in flat]
        self.outputs = [(item, not (real and item is outputs[-1])) for item in outputs]

    def rows(self, slopes: bool) -> list[list[Node]]:
        """Nodes of real parts: the values, then slopes by each number where wanted."""
        rows = [[node for symbol, kind in self.outputs for node in _real_parts(symbol.value, kind)]]
        none = Plain(self.graph, self.graph.constant(0.0))
        for number in range(self.numbers if slopes else 0):
            parts = [_real_parts(symbol.slopes.get(number, none), kind) for symbol, kind in self.outputs]
            rows.append([node for part in parts for node in part])
        return rows


def _flat(found: Any) -> Iterable[Any]:
    if isinstance(found, tuple):
        for item in found:
            yield from _flat(item)
    else:
        yield found


def _real_parts(item: Plain, is_complex: bool) -> list[Node]:
    zero = item.graph.constant(0.0)
    return [item.re, zero if item.im is None else item.im] if is_complex else [item.re]


def _written(element: Element, slopes: bool) -> str:
    """C of an element: what does not depend on frequency (`_once`), and the rest (`_at`)."""
    graph, rows = element.graph, element.rows(slopes)
    outputs = [node for row in rows for node in row]
    needed = needed_by(graph, outputs)
    moving = _depending_on_f(graph)
    across = _kept(graph, outputs, needed, moving)
    slot = {node: number for number, node in enumerate(across)}
    name = f"{element.name}_{'slopes' if slopes else 'values'}"
    sizes = {"kept": max(len(across), 1), "rows": len(rows), "columns": len(rows[0])}
    lines = [f"enum {{ {', '.join(f'{name}_{key} = {size}' for key, size in sizes.items())} }};"]
    lines += [f"static INLINE void {name}_once(const V *restrict in, V *restrict kept)", "{"]
    lines += [_line(graph, node, {}) for node in sorted(needed) if not moving[node]]
    lines += [f"    kept[{slot[node]}] = {_word(graph, node, {})};" for node in across]
    lines += ["}", f"static INLINE void {name}_at(const V *restrict kept, V f, V *restrict out)", "{"]
    lines += [_line(graph, node, slot) for node in sorted(needed) if moving[node] and graph.nodes[node] != ("f",)]
    lines += [f"    out[{number}] = {_word(graph, node, slot)};" for number, node in enumerate(outputs)]
    return "\n".join(line for line in [*lines, "}"] if line)


def _kept(graph: Graph, outputs: list[Node], needed: set[Node], moving: list[bool]) -> list[Node]:
    """Nodes that do not depend on frequency, but that what does so, or the outputs, are made of."""
    used = {
        node for user in needed if moving[user] and graph.nodes[user][0] in WRITTEN for node in graph.nodes[user][1:]
    }
    still = [node for node in sorted(needed) if not moving[node] and graph.nodes[node][0] != "constant"]
    return [node for node in still if node in used or node in outputs]


def needed_by(graph: Graph, outputs: Sequence[Node]) -> set[Node]:
    """All nodes that outputs are worked out from, themselves included."""
    found, open_ = set(), list(outputs)
    while open_:
        node = open_.pop()
        if node not in found:
            found.add(node)
            kind, *rest = graph.nodes[node]
            open_ += rest if kind in WRITTEN else []
    return found


def _depending_on_f(graph: Graph) -> list[bool]:
    found: list[bool] = []
    for kind, *rest in graph.nodes:
        found.append(kind == "f" or (kind in WRITTEN and any(found[node] for node in rest)))
    return found


def _word(graph: Graph, node: Node, slot: dict[Node, int]) -> str:
    kind, *rest = graph.nodes[node]
    if kind == "constant":
        return f"v_all({rest[0]!r})"
    return "f" if kind == "f" else f"kept[{slot[node]}]" if node in slot else f"x{node}"


def _line(graph: Graph, node: Node, slot: dict[Node, int]) -> str:
    kind, *rest = graph.nodes[node]
    if kind == "constant":
        return ""
    made = f"in[{rest[0]}]" if kind == "input" else WRITTEN[kind].format(*(_word(graph, one, slot) for one in rest))
    return f"    const {'VI' if kind == 'less' else 'V'} x{node} = {made};"


def _lumped(f: Symbol, volume: Symbol, _: Symbol, *rest: Any) -> Any:
    return elements.reed_element(f, volume, np.inf, *rest)


def _bell_pair(*given: Any) -> Any:
    return elements.pair_element(*given, with_bell=True)


def _open_hole(*given: Any) -> Any:
    return elements.hole_element(*given, openness=1.0)


def _part_hole(*given: Any) -> Any:
    return elements.hole_element(*given[:-1], openness=given[-1])


def all_elements() -> list[Element]:
    """Every element of the kernel."""
    return [
        Element("segment", 6, elements.segment_element),
        Element("closed_hole", 13, elements.hole_element, real=True),
        Element("open_hole", 13, _open_hole, real=True),
        Element("part_hole", 13, _part_hole, constants=1, real=True),
        Element("bell", 5, elements.bell_element),
        Element("reed", 10, elements.reed_element, real=True),
        Element("lumped_reed", 10, _lumped, real=True),
        Element("pair", 6, elements.pair_element),
        Element("bell_pair", 6, _bell_pair),
        Element("own", 4, elements.own_element, real=True),
    ]


def text() -> str:
    """The whole of `elements.h`."""
    head = "/* Written by acoustics/kernel/generate.py from the formulas in acoustics/elements.py. */\n"
    parts = [_written(element, slopes) for element in all_elements() for slopes in (False, True)]
    return "\n".join([head, *parts, ""])


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(text())
