"""The front: which finished layouts no other beats, thinned to differences a maker could notice."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from optimizer.project.objectives import OBJECTIVES
from optimizer.records.layout_ids import numbered

Values = tuple[float, ...]
"""A layout's figures, in the order of a front's objectives."""


def hypervolume(points: Sequence[Sequence[float]], names: Sequence[str]) -> float:
    """Share [1] of the box between 0 and the objectives' references that points (M, objectives) dominate."""
    if not points:
        return 0.0
    import moocore

    shares = np.asarray(points, float) / [OBJECTIVES[name].reference for name in names]
    return float(moocore.hypervolume(shares, ref=np.ones(len(names))))


def dominates(first: Sequence[float], second: Sequence[float]) -> bool:
    """Whether first is nowhere worse than second and somewhere better; both are minimised."""
    return all(a <= b for a, b in zip(first, second, strict=True)) and any(
        a < b for a, b in zip(first, second, strict=True)
    )


@dataclass
class Front:
    """Archive of mutually non-dominated layouts, at most one per box: the one whose figures, in widths of the box, have
    the least sum, and of equal ones the one of the least trial; besides them the best in the first objective, to a step
    of its resolution, however wide the boxes. What it holds depends on what it was offered, not on the order.

    `widths` : of the boxes, by objective

    Source: Laumanns, Thiele, Deb & Zitzler, Evolutionary Computation 10 (2002) 263: boxes make the archive finite, and
    members of boxes that do not dominate each other do not dominate each other either.
    """

    widths: Mapping[str, float]
    _boxed: dict[str, Values] = field(default_factory=dict)
    _first: tuple[str, Values] | None = None

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the objectives."""
        return tuple(self.widths)

    @property
    def members(self) -> dict[str, Values]:
        """Figures of the layouts, by their ids."""
        return self._boxed | dict([self._first] if self._first else [])

    def _box(self, values: Values) -> tuple[int, ...]:
        return tuple(int(value // width) for value, width in zip(values, self.widths.values(), strict=True))

    def _rank(self, layout_id: str, values: Values) -> tuple[float, bool, int, str]:
        """Less is better within a box; no two layouts are alike."""
        widths = self.widths.values()
        return sum(value / width for value, width in zip(values, widths, strict=True)), *numbered(layout_id)

    def _best_first(self, layout: tuple[str, Values]) -> tuple[int, tuple[float, bool, int, str]]:
        """Less is better in the first objective."""
        return int(layout[1][0] // OBJECTIVES[self.names[0]].resolution), self._rank(*layout)

    def offer(self, layout_id: str, objectives: Mapping[str, float]) -> tuple[bool, list[str]]:
        """Offer a feasible layout: whether it joins, and the ids of those that leave for it."""
        values, before = tuple(objectives[name] for name in self.widths), self.members
        self._put_in_box(layout_id, values)
        self._first = min((layout_id, values), self._first or (layout_id, values), key=self._best_first)
        return layout_id in self.members, [one for one in before if one not in self.members]

    def _put_in_box(self, layout_id: str, values: Values) -> None:
        """Give a layout its box, unless another has it or beats it."""
        box, rank = self._box(values), self._rank(layout_id, values)
        leaving = []
        for other, other_values in self._boxed.items():
            other_box = self._box(other_values)
            if dominates(other_box, box) or (other_box == box and self._rank(other, other_values) < rank):
                return
            if dominates(box, other_box) or other_box == box:
                leaving.append(other)
        for other in leaving:
            del self._boxed[other]
        self._boxed[layout_id] = values

    def hypervolume(self) -> float:
        """Share of the box below the objectives' references that the members dominate."""
        return hypervolume(list(self.members.values()), self.names)

    def ordered(self) -> list[str]:
        """Ids from best to worst in the first objective."""
        members = self.members
        return sorted(members, key=lambda layout_id: (members[layout_id], numbered(layout_id)))
