"""The front: which finished layouts no other beats, thinned to differences a maker could notice."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from optimizer.project.objectives import OBJECTIVES
from optimizer.records.layout_ids import numbered


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
    the least sum, and of equal ones the one of the least trial. What it holds depends on what it was offered, not on
    the order.

    `widths` : of the boxes, by objective

    Source: Laumanns, Thiele, Deb & Zitzler, Evolutionary Computation 10 (2002) 263: boxes make the archive finite, and
    members of boxes that do not dominate each other do not dominate each other either.
    """

    widths: Mapping[str, float]
    members: dict[str, tuple[float, ...]] = field(default_factory=dict)

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the objectives."""
        return tuple(self.widths)

    def _box(self, values: Sequence[float]) -> tuple[int, ...]:
        return tuple(int(value // width) for value, width in zip(values, self.widths.values(), strict=True))

    def _rank(self, layout_id: str, values: Sequence[float]) -> tuple[float, bool, int, str]:
        """Less is better within a box; no two layouts are alike."""
        widths = self.widths.values()
        return sum(value / width for value, width in zip(values, widths, strict=True)), *numbered(layout_id)

    def offer(self, layout_id: str, objectives: Mapping[str, float]) -> tuple[bool, list[str]]:
        """Offer a feasible layout: whether it joins, and the ids of those that leave for it."""
        values = tuple(objectives[name] for name in self.widths)
        box, rank = self._box(values), self._rank(layout_id, values)
        leaving = []
        for other, other_values in self.members.items():
            other_box = self._box(other_values)
            if dominates(other_box, box) or (other_box == box and self._rank(other, other_values) < rank):
                return False, []
            if dominates(box, other_box) or other_box == box:
                leaving.append(other)
        for other in leaving:
            del self.members[other]
        self.members[layout_id] = values
        return True, leaving

    def hypervolume(self) -> float:
        """Share of the box below the objectives' references that the members dominate."""
        return hypervolume(list(self.members.values()), self.names)

    def ordered(self) -> list[str]:
        """Ids from best to worst in the first objective."""
        return sorted(self.members, key=lambda layout_id: (self.members[layout_id], numbered(layout_id)))
