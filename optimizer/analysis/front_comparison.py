"""Two fronts side by side: how much of a common box each dominates, and which layouts of one the other beats."""

from collections.abc import Mapping, Sequence

from optimizer.project.objectives import OBJECTIVES
from optimizer.records.comparison import FrontComparison
from optimizer.records.run import FrontRecord
from optimizer.search.pareto import dominates, hypervolume
from optimizer.words import counted

Point = Mapping[str, float]


def front_comparison(first: FrontRecord, other: FrontRecord, marks: tuple[str, str]) -> FrontComparison:
    """The fronts in the objectives that both searched for; a front without a feasible layout counts as empty."""
    names = [name for name in first.objectives if name in other.objectives]
    points = tuple([entry.objectives for entry in front.layouts if front.feasible] for front in (first, other))
    values = tuple([[point[name] for name in names] for point in front] for front in points)
    beaten = _beaten(points[0], points[1], names), _beaten(points[1], points[0], names)
    if not names:
        sentences = ["The two searches have no objective in common, so their fronts cannot be compared."]
    else:
        sentences = [
            _beaten_sentence(points[0], beaten[0], names, marks),
            _beaten_sentence(points[1], beaten[1], names, marks[::-1]),
            *_further(points, {name: max(front.thinned_to[name] for front in (first, other)) for name in names}, marks),
        ]
    return FrontComparison(
        objectives=names,
        reference_point={name: OBJECTIVES[name].reference for name in names},
        layouts=(len(points[0]), len(points[1])),
        hypervolume=(
            hypervolume(values[0], names) if names else 0.0,
            hypervolume(values[1], names) if names else 0.0,
        ),
        beaten_share=(_share(beaten[0], points[0]), _share(beaten[1], points[1])),
        sentences=sentences,
    )


def _beaten(points: Sequence[Point], rivals: Sequence[Point], names: Sequence[str]) -> list[Point]:
    """Points that some rival dominates."""
    return [
        point
        for point in points
        if any(dominates([rival[name] for name in names], [point[name] for name in names]) for rival in rivals)
    ]


def _share(some: Sequence[Point], all_points: Sequence[Point]) -> float:
    return len(some) / len(all_points) if all_points else 0.0


def _beaten_sentence(
    points: Sequence[Point], beaten: Sequence[Point], names: Sequence[str], marks: tuple[str, str]
) -> str:
    """How many of a front the rival beats, and where along the objectives those lie."""
    mark, rival = marks
    if not points:
        return f"{mark} has no feasible layout."
    if not beaten:
        return f"{rival} beats none of {mark}'s {counted(len(points), 'layout')}."
    spans = ", ".join(f"{name} {_span([point[name] for point in beaten])} {OBJECTIVES[name].unit}" for name in names)
    which = "all" if len(beaten) == len(points) else str(len(beaten))
    return f"{rival} beats {which} of {mark}'s {counted(len(points), 'layout')}: those with {spans}."


def _span(values: Sequence[float]) -> str:
    low, high = f"{min(values):.2f}", f"{max(values):.2f}"
    return low if low == high else f"{low} to {high}"


def _further(points: Sequence[Sequence[Point]], widths: Mapping[str, float], marks: tuple[str, str]) -> list[str]:
    """Where along an objective only one of the two has layouts, by more than counts as the same in either front."""
    if not points[0] or not points[1]:
        return []
    said = []
    for name, width in widths.items():
        best = [min(point[name] for point in front) for front in points]
        ahead = 0 if best[0] < best[1] else 1
        if abs(best[0] - best[1]) >= width:
            said.append(
                f"Below {best[1 - ahead]:.2f} {OBJECTIVES[name].unit} of {name} only {marks[ahead]} has layouts, "
                f"down to {best[ahead]:.2f}."
            )
    return said
