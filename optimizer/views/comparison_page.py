"""A comparison as one page: both fronts, every note, bodies to one scale, and what changed, in tables."""

from collections.abc import Mapping, Sequence

from optimizer.analysis.comparison import Candidate
from optimizer.analysis.note_changes import pitch_of
from optimizer.records.comparison import ComparisonRecord
from optimizer.records.layout import LayoutRecord, NoteRecord
from optimizer.records.run import FrontRecord
from optimizer.views import objectives
from optimizer.views.comparison_tables import change_tables, file_lines, fronts_table, layouts_table, mass_words
from optimizer.views.drawings.body import body_drawing
from optimizer.views.drawings.canvas import Canvas
from optimizer.views.drawings.front import Dot, front_panels
from optimizer.views.drawings.notes import Line, Mark, tuning_chart
from optimizer.views.html import rendered

SHAPES = ("circles", "squares", "triangles", "diamonds")


def compare_page(record: ComparisonRecord, candidates: Sequence[Candidate]) -> str:
    """The page; candidates in the order of the record's layouts."""
    pairs = list(zip(record.layouts, candidates, strict=True))
    layouts = {each.mark: candidate.record for each, candidate in pairs}
    fronts = {each.mark: one.front for each, one in pairs if one.front}
    marks = "; ".join(f"{each.mark}: {each.instrument}, {each.id}" for each in record.layouts)
    return rendered(
        "comparison.html",
        title=" and ".join(dict.fromkeys(each.instrument for each in record.layouts)) + ": side by side",
        compared=layouts_table(record),
        files=file_lines(record),
        mass=mass_words(record),
        fronts=len(fronts) > 1,
        panels=_panels(fronts) if len(fronts) > 1 else [],
        legend=", ".join(f"{mark} {shape}" for mark, shape in zip(fronts, SHAPES * 2, strict=False)),
        sentences=[sentence for each in record.comparisons if each.fronts for sentence in each.fronts.sentences],
        shares=fronts_table(record.comparisons),
        tuning=tuning_chart(_lines(layouts), "cents of each note, a bar for each layout"),
        said_of_tuning=f"{marks}. Top to bottom on each line; predicted less wanted, in cents.",
        bodies=_bodies(layouts),
        comparisons=[(each, change_tables(record, each)) for each in record.comparisons],
        cautions=record.cautions,
    )


def _panels(fronts: Mapping[str, FrontRecord]) -> list[Canvas]:
    """All fronts of runs in the objectives that all of them have."""
    names = set.intersection(*(set(front.objectives) for front in fronts.values()))
    dots = [
        Dot(mark, f"{mark}, {entry.id}", entry.objectives)
        for mark, front in fronts.items()
        for entry in front.layouts
        if front.feasible
    ]
    return front_panels(dots, objectives.ordered(names))


def _lines(layouts: dict[str, LayoutRecord]) -> list[Line]:
    """A line for each note by its pitch as written, register, main or alternate; the first of its kind in a layout."""
    found: dict[tuple[bool, int, int], dict[str, NoteRecord]] = {}
    for mark, record in layouts.items():
        for note in record.notes:
            line = found.setdefault((note.alternate, note.register_number, pitch_of(note)), {})
            line.setdefault(mark, note)
    order = sorted(found, key=lambda key: (key[0], key[1], next(iter(found[key].values())).target_hz))
    return [
        Line(
            next(iter(found[key].values())).written,
            key[1],
            key[0],
            [Mark(mark, found[key][mark].cents if mark in found[key] else None, None) for mark in layouts],
        )
        for key in order
    ]


def _bodies(layouts: Mapping[str, LayoutRecord]) -> list[tuple[Canvas, str]]:
    """Every body to the scale of the longest, and what is said below it."""
    span = max(record.bore.points_mm[-1][0] for record in layouts.values())
    return [
        (
            body_drawing(record, span, detail=False),
            f"{mark}: {record.instrument}, layout {record.id}. {_seen(record)}; dashed: behind.",
        )
        for mark, record in layouts.items()
    ]


def _seen(record: LayoutRecord) -> str:
    """What stands above and below a body."""
    return "Holes above, fingers below" if any(hole.by != "key" for hole in record.holes) else "Holes above"
