"""Writes `elements.h`, the kernel's elements with their slopes, from the formulas in `acoustics.elements`; beside it
`origin.h`, which says from which.

Each formula is called once with `symbols.Symbol`s in place of arrays; the graph that comes of it is written out node by
node. What does not depend on frequency is written apart, to be worked out once.

`build` runs this when the package is installed: after a change of a formula, install again.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from acoustics import elements
from acoustics.kernel.graph import Graph, Node, Plain
from acoustics.kernel.origin import marks
from acoustics.kernel.symbols import Symbol

WRITTEN = {
    "add": "{} + {}", "sub": "{} - {}", "mul": "{} * {}", "div": "{} / {}", "neg": "-{}", "sqrt": "v_sqrt({})",
    "exp": "v_exp({})", "log": "v_log({})", "sin": "v_sin({})", "cos": "v_cos({})", "floor": "v_floor({})",
    "max": "v_max({}, {})", "min": "v_min({}, {})", "less": "v_less({}, {})", "pick": "v_pick({}, {}, {})",
}  # fmt: skip


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
    folder = Path(sys.argv[1])
    (folder / "elements.h").write_text(text())
    built_from = " ".join(marks(Path(__file__).parents[1]))
    (folder / "origin.h").write_text(f'#define BUILT_FROM "{built_from}"\n')
