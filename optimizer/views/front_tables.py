"""Runs and their fronts as tables. Reads records only."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from rich.console import Console

from optimizer.records.layout import LayoutRecord
from optimizer.records.recommendation import RecommendationRecord
from optimizer.records.run import FrontEntry, FrontRecord, ProgressRecord, RunRecord
from optimizer.views import objectives
from optimizer.views.recommendation import rule_lines, show_recommendation
from optimizer.views.table import Cell, Column, Table, tabled
from optimizer.views.terminal import show_lines, show_table
from optimizer.words import counted, listed

if TYPE_CHECKING:
    from optimizer.project.loading import LoadedProject

IN_THE_WAY_MOST = 5
"""Names of what was in the way that are told."""


class Means(NamedTuple):
    """What a reader goes on with, and looks for ways out with, by the names that these have where it is read."""

    go_on: str
    ways_out: str


BY_COMMANDS = Means("`holewright resume`", "`holewright relieve` tells")
ON_THE_PAGE = Means('"Go on"', 'On the page of the layout, "Look for ways out" tells')


def show_front(
    console: Console, front: FrontRecord, run: RunRecord, found: RecommendationRecord,
    progress: ProgressRecord | None = None, whole: bool = False,
) -> None:  # fmt: skip
    """The run in a sentence, then what it recommends of its front; whole: and every layout of it."""
    more = f"; hypervolume {progress.hypervolume:.3f}" if progress and progress.hypervolume else ""
    console.print(f"{run.instrument}: {run_words(run)}{more}")
    if not front.layouts:
        console.print("It ended before its first layout was done: give it more time.", style="bold")
        return
    if not front.feasible:
        nearest = f" ({shortfall(front.layouts[0])})"
        console.print(f"No layout met everything. The nearest one{nearest}:", style="bold")
        show_lines(console, in_the_way_lines(run))
    else:
        show_recommendation(console, found, front.objectives, f"Recommended of {front_words(front)}")
    names = objectives.shown(front.objectives)
    lines = objectives.meanings(names)
    if whole or not front.feasible:
        show_table(console, front_table(front.layouts, names, front_words(front)))
        lines = [*rule_lines(found), *lines]
    thinned = {name: front.thinned_to[name] for name in front.objectives}
    show_lines(console, [objectives.same_line(thinned, run.sameness), *lines], "dim")


def run_words(run: RunRecord) -> str:
    """How many trials a run made, and what ended it."""
    failed = f", {run.trials_failed} failed" if run.trials_failed else ""
    return f"{counted(run.trials_done, 'trial')}{failed}; ended by {run.ended_by or 'nothing yet'}"


def front_words(front: FrontRecord) -> str:
    """How many layouts a front has, and what it weighs."""
    layouts, names = counted(len(front.layouts), "layout"), ", ".join(map(objectives.in_words, front.objectives))
    if not front.sought_otherwise:
        return f"{layouts}, none beaten by another in {names}"
    if "unevenness" in front.objectives:
        return f"{layouts}, sought by an older evenness: some may be beaten in {names}"
    return f"{layouts}, sought by an older evenness; unevenness is left out, as not all of them can be read"


def front_table(
    entries: Sequence[FrontEntry], names: Sequence[str], title: str, shown: Mapping[str, str] | None = None
) -> Table:
    """Layouts by their objectives; shown: as what some are recommended, by id, where a page shows those."""
    columns: list[Column[FrontEntry]] = [
        Column("layout", lambda entry: Cell(entry.id, target=entry.id if shown is None or entry.id in shown else "")),
        *objectives.columns(names, lambda entry: entry.objectives),
    ]
    if shown is not None:
        columns.append(Column("recommended as", lambda entry: shown.get(entry.id, "")))
    columns.append(Column("what binds", lambda entry: binding_words(entry.binds), wraps=True))
    return tabled(title, columns, entries)


def binding_words(names: Sequence[str]) -> str:
    """Limits first, then how many ranges sit at their ends."""
    limits = [name for name in names if not name.startswith("range.")]
    shown = ", ".join(limits[:3]) + (f" and {len(limits) - 3} more" if len(limits) > 3 else "")
    ranges = len(names) - len(limits)
    return "; ".join(part for part in (shown, f"{counted(ranges, 'range')} at an end" if ranges else "") if part)


def shortfall(entry: FrontEntry) -> str:
    """What a layout that is not feasible lacks."""
    parts = []
    if entry.wrong_notes:
        sound = "does" if entry.wrong_notes == 1 else "do"
        parts.append(f"{counted(entry.wrong_notes, 'note')} {sound} not sound as wanted")
    if entry.violation_mm > 0:
        parts.append(f"a limit is broken by {entry.violation_mm:.2f} mm")
    return ", ".join(parts)


def in_the_way_lines(run: RunRecord, means: Means = BY_COMMANDS) -> list[str]:
    """What was in the way most often while a run found nothing, and what may help; none where that is not known."""
    if not run.broken:
        return []
    from optimizer.limits.catalogue import of_the_hand  # all limits, which no run that found something asks for

    most = dict(Counter(run.broken).most_common(IN_THE_WAY_MOST))
    said = listed([f"{_told(name)} in {count}" for name, count in most.items()])
    lines = [f"Most often in the way, of {counted(run.looked_at, 'trial')}: {said}."]
    lines.append(f"A longer search may find a layout that keeps everything ({means.go_on}).")
    if of_the_hand(most):
        lines.append(f"{means.ways_out} single ways out of what binds the hands.")
    if any(name.startswith("note.") for name in most):
        lines.append("Wider ranges of vents, or a smaller register_ratio_min, let more notes sound.")
    return lines


def _told(name: str) -> str:
    """A limit or a note by its name in words."""
    kind, _, what = name.partition(".")
    return f"{what} not sounding as wanted" if kind == "note" else f"the limit {name}"


def spread(items: Sequence[FrontEntry], count: int) -> list[FrontEntry]:
    """At most count items, evenly spread, first and last included."""
    if len(items) <= count:
        return list(items)
    return [items[round(i * (len(items) - 1) / (count - 1))] for i in range(count)]


@dataclass(frozen=True)
class Surveyed:
    """A project of a survey: its instrument, how it was searched, and its best-tuned layout, if there is one."""

    instrument: str
    trials: str
    layouts: int | None
    feasible: str
    holes: int | None = None
    best: LayoutRecord | None = None

    @property
    def notes(self) -> int | None:
        """How many lines of the chart are main ones."""
        return None if self.best is None else sum(not note.alternate for note in self.best.notes)

    @property
    def worst_cents(self) -> float | None:
        """Largest error of a main note that sounds."""
        notes = self.best.notes if self.best else []
        errors = [abs(note.cents) for note in notes if note.cents is not None and not note.alternate]
        return max(errors, default=float("nan")) if self.best else None

    def figure(self, name: str) -> float | None:
        """An objective of the best layout."""
        return None if self.best is None else self.best.objectives[name]


def front_row(front: FrontRecord, run: RunRecord, best: LayoutRecord | None) -> Surveyed:
    """A project that was searched."""
    trials = str(run.trials_done)
    if best is None:
        return Surveyed(run.instrument, trials, 0, "no")
    feasible = "yes" if best.feasible else "no"
    return Surveyed(run.instrument, trials, len(front.layouts), feasible, len(best.holes), best)


def conflict_row(loaded: "LoadedProject") -> Surveyed:
    """A project that was not searched, as its limits conflict."""
    holes = len(loaded.project.holes)
    return Surveyed(loaded.project.instrument.name, "not searched", None, "no: limits conflict", holes)


SURVEY: Sequence[Column[Surveyed]] = [
    Column("instrument", lambda row: row.instrument),
    Column("holes", lambda row: row.holes, "d"),
    Column("notes", lambda row: row.notes, "d"),
    Column("trials", lambda row: row.trials, right=True),
    Column("layouts on the front", lambda row: row.layouts, "d"),
    Column("feasible", lambda row: row.feasible),
    Column("RMS", lambda row: row.figure("tuning"), ".2f", heading="RMS cents"),
    Column("worst note", lambda row: row.worst_cents, ".1f", "cents"),
    Column("stretch", lambda row: row.figure("stretch"), ".0f", heading="stretch %"),
    Column("unevenness", lambda row: row.figure("unevenness"), ".1f", heading="unevenness %"),
]


def survey_table(rows: Sequence[Surveyed]) -> Table:
    """Projects by their best-tuned layouts."""
    return tabled("Survey", SURVEY, rows)
