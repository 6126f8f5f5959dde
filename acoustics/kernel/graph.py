"""Formulas as graphs of real operations: what `generate` writes as C. Equal nodes are one; complex values are pairs of
real nodes."""

from __future__ import annotations

import math
from typing import Any, TypeAlias

Node: TypeAlias = int


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
        """The number of a constant."""
        return self.note("constant", float(value))

    def value(self, node: Node) -> float | None:
        """The value of a constant."""
        kind, *rest = self.nodes[node]
        return float(rest[0]) if kind == "constant" else None

    def add(self, one: Node, other: Node) -> Node:
        """Sum of two nodes."""
        a, b = self.value(one), self.value(other)
        if a is not None and b is not None:
            return self.constant(a + b)
        if a == 0.0:
            return other
        return one if b == 0.0 else self.note("add", *sorted((one, other)))

    def sub(self, one: Node, other: Node) -> Node:
        """One node less another."""
        a, b = self.value(one), self.value(other)
        if a is not None and b is not None:
            return self.constant(a - b)
        if a == 0.0:
            return self.neg(other)
        return one if b == 0.0 else self.note("sub", one, other)

    def neg(self, one: Node) -> Node:
        """A node with its sign changed."""
        a = self.value(one)
        if a is not None:
            return self.constant(-a)
        kind, *rest = self.nodes[one]
        return rest[0] if kind == "neg" else self.note("neg", one)

    def mul(self, one: Node, other: Node) -> Node:
        """Product of two nodes."""
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
        """One over a node."""
        a = self.value(one)
        return self.constant(1.0 / a) if a is not None else self.note("div", self.constant(1.0), one)

    def call(self, name: str, *given: Node) -> Node:
        """A function of nodes, by its name in C."""
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
        """Whether it is nothing but 0."""
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
        """One over it."""
        g = self.graph
        if self.im is None:
            return Plain(g, g.inverse(self.re))
        share = g.inverse(g.add(g.mul(self.re, self.re), g.mul(self.im, self.im)))
        return Plain(g, g.mul(self.re, share), g.neg(g.mul(self.im, share)))

    def exp(self) -> Plain:
        """e to its power."""
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
        """A function of a real value, by its name in C."""
        assert self.im is None
        return Plain(self.graph, self.graph.call(name, self.re))


def picked(condition: Node, one: Plain, other: Plain) -> Plain:
    """One value where a condition holds, else the other."""
    g = one.graph
    re = one.re if one.re == other.re else g.note("pick", condition, one.re, other.re)
    if one.im is None and other.im is None:
        return Plain(g, re)
    zero = g.constant(0.0)
    sides = [zero if side.im is None else side.im for side in (one, other)]
    return Plain(g, re, sides[0] if sides[0] == sides[1] else g.note("pick", condition, *sides))
