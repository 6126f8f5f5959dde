"""Runs and layouts as tables for a terminal. Reads records only."""

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from rich.console import Console
from rich.table import Table

from optimizer.project.loading import LoadedProject
from optimizer.project.objectives import MEANING, ONLY_WHERE_SOUGHT, UNITS
from optimizer.records.layout import LayoutRecord, NoteRecord
from optimizer.records.run import FrontEntry, FrontRecord, ProgressRecord, RunRecord
from optimizer.views.key_tables import key_table
from optimizer.views.piece_tables import show_pieces
from optimizer.views.reach_tables import reach_table
from optimizer.words import counted, or_dash

if TYPE_CHECKING:
    from acoustics.resonances import Spectrum

ROWS = 20
NEAR_MM = 3.0


def _table(title: str, columns: Sequence[tuple[str, str]]) -> Table:
    table = Table(title=title, title_justify="left", header_style="bold", pad_edge=False, box=None)
    for name, justify in columns:
        table.add_column(name, justify="right" if justify == "r" else "left", no_wrap=name != "what binds")
    return table


def show_front(
    console: Console, front: FrontRecord, run: RunRecord, folder: str, progress: ProgressRecord | None = None
) -> None:
    """The run in a sentence, then its front, at most `ROWS` layouts spread along the first objective."""
    console.print(
        f"{run.instrument}: {counted(run.trials_done, 'trial')}"
        + (f", {run.trials_failed} failed" if run.trials_failed else "")
        + f"; ended by {run.ended_by or 'nothing yet'}"
        + (f"; hypervolume {progress.hypervolume:.3f}" if progress and progress.hypervolume else "")
    )
    if not front.layouts:
        console.print("It ended before its first layout was done: give it more time.", style="bold")
        return
    if not front.feasible:
        nearest = f" ({shortfall(front.layouts[0])})"
        console.print(f"No layout met everything. The nearest one{nearest}:", style="bold")
    shown = [name for name in UNITS if name in front.objectives or name not in ONLY_WHERE_SOUGHT]
    columns = [("layout", "l"), *((f"{name} {UNITS[name]}", "r") for name in shown), ("what binds", "l")]
    found = counted(len(front.layouts), "layout")
    table = _table(f"{found}, none beaten by another in {', '.join(front.objectives)}", columns)
    for entry in spread(front.layouts, ROWS):
        figures = [f"{entry.objectives[name]:.2f}" for name in shown]
        table.add_row(entry.id, *figures, _binding_cell(entry.binds))
    console.print(table)
    if len(front.layouts) > ROWS:
        console.print(f"({ROWS} of {len(front.layouts)} shown; all are in {folder}/pareto.json)")
    steps = ", ".join(f"{front.thinned_to[name]:g} {UNITS[name]}" for name in front.objectives)
    console.print(f"  thinned to one layout for each step of {steps}", style="dim")
    for name in shown:
        console.print(f"  {name}: {MEANING[name]}", style="dim")


def _binding_cell(names: Sequence[str]) -> str:
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


def spread(items: Sequence[FrontEntry], count: int) -> list[FrontEntry]:
    """At most count items, evenly spread, first and last included."""
    if len(items) <= count:
        return list(items)
    return [items[round(i * (len(items) - 1) / (count - 1))] for i in range(count)]


def show_layout(console: Console, record: LayoutRecord) -> None:
    """Everything a maker wants to know of one layout."""
    state = "meets every limit, every note sounds as wanted" if record.feasible else "is NOT feasible, see below"
    console.print(f"{record.instrument}, layout {record.id}: {state}", style="bold")
    console.print("  ".join(f"{name} {value:.2f} {UNITS[name]}" for name, value in record.objectives.items()))
    points, reed = record.bore.points_mm, record.reed
    console.print(
        f"bore {points[0][1]:g} to {points[-1][1]:.2f} mm diameter over {points[-1][0]:.2f} mm; "
        f"reed volume {reed.volume_cm3:.4f} cm3"
    )
    show_notes(console, record.notes, _doubtful(record))
    _show_holes(console, record)
    if record.keys:
        console.print(key_table(record.keys))
    show_pieces(console, record)
    _show_reach(console, record)
    _show_binds(console, record)
    for warning in record.warnings:
        console.print(f"outside a formula's range: {warning}", style="yellow")
    for matter in record.to_settle:
        console.print(f"to settle in CAD: {matter}", style="yellow")
    console.print("Cautions", style="bold")
    for caution in record.cautions:
        console.print(f"  {caution}")


def _doubtful(record: LayoutRecord) -> dict[str, list[str]]:
    """Per written note, the open holes that a warning names."""
    warned = {warning.split(":")[0] for warning in record.warnings}
    return {
        note.written: [
            hole.id for hole, share in zip(record.holes, note.openness, strict=True) if share > 0 and hole.id in warned
        ]
        for note in record.notes
    }


def show_notes(
    console: Console, notes: Sequence[NoteRecord], doubtful: Mapping[str, Sequence[str]] | None = None
) -> None:
    """Note table: written, sounding, register, prediction against target, and open holes outside a formula's range."""
    columns = [
        ("written", "l"),
        ("sounding", "l"),
        ("register", "r"),
        ("target Hz", "r"),
        ("cents", "r"),
        ("+-", "r"),
        ("Q", "r"),
        ("peak / lower", "r"),
        ("peak / upper", "r"),
        ("vent moves", "r"),
        ("remark", "l"),
    ]
    table = _table("Notes, by the real resonances", columns)
    for note in notes:
        remark: str = "" if note.status == "ok" else note.status
        if note.status == "other register":
            remark = f"sounds resonance {note.resonance_number}, not {note.register_number}"
        if note.status == "weak":
            remark = "weak: the resonance below is taller"
        if note.alternate:
            remark = f"alternate {remark}".strip()
        outside = (doubtful or {}).get(note.written)
        if outside:
            remark = f"{remark} outside a formula's range: {', '.join(outside)}".strip()
        table.add_row(
            note.written,
            note.sounding,
            str(note.register_number),
            f"{note.target_hz:.2f}",
            or_dash(note.cents, "+.1f"),
            or_dash(note.sd_cents, ".1f"),
            or_dash(note.quality, ".0f"),
            or_dash(note.height_over_lower, ".2f"),
            or_dash(note.height_over_upper, ".2f"),
            or_dash(note.vent_moves_cents, "+.0f"),
            remark,
        )
    console.print(table)


def show_resonances(console: Console, notes: Sequence[NoteRecord], spectra: "Sequence[Spectrum]") -> None:
    """All resonances of each note: frequency, height against the tallest, Q, interval to the target."""
    columns = [("note", "l"), ("resonance", "r"), ("Hz", "r"), ("height", "r"), ("Q", "r"), ("from target", "r")]
    table = _table("Resonances to 4 kHz; height against the tallest, cents from the note's target", columns)
    for note, found in zip(notes, spectra, strict=True):
        for index, f in enumerate(found.frequency):
            table.add_row(
                note.written if index == 0 else "",
                f"{index + 1}{' *' if index + 1 == note.register_number else ''}",
                f"{f:.2f}",
                f"{found.height[index] / found.height.max():.3f}",
                f"{found.quality[index]:.0f}",
                f"{1200.0 * math.log2(f / note.target_hz):+.0f}",
            )
    console.print(table)


def _show_holes(console: Console, record: LayoutRecord) -> None:
    columns = [
        ("hole", "l"),
        ("worked by", "l"),
        ("rest", "l"),
        ("position", "r"),
        ("azimuth", "r"),
        ("diameter", "r"),
        ("bore", "r"),
        ("chimney", "r"),
        ("touch at", "r"),
        ("pad", "r"),
        ("opens", "r"),
        ("cutoff Hz", "r"),
    ]
    table = _table("Holes, mm and degrees, from the bell up", columns)
    for hole in record.holes:
        worker = f"{hole.by} on a plate" if hole.cover == "plate" else hole.by
        pad = hole.pad
        table.add_row(
            hole.id + (" locked" if hole.locked else ""),
            worker,
            hole.rest,
            f"{hole.position_mm:.2f}",
            f"{hole.azimuth_deg:.0f}",
            f"{hole.diameter_mm:.2f}"
            + (f" to {hole.top_diameter_mm:.2f}" if hole.top_diameter_mm != hole.diameter_mm else ""),
            f"{hole.bore_diameter_mm:.2f}",
            f"{hole.chimney_mm:.2f}",
            or_dash(hole.touch_position_mm, ".2f"),
            or_dash(pad.diameter_mm if pad else None, ".1f"),
            or_dash(pad.opening_mm if pad else None, ".1f"),
            or_dash(hole.lattice_cutoff_hz, ".0f"),
        )
    console.print(table)


def _show_reach(console: Console, record: LayoutRecord) -> None:
    if record.reach:
        console.print(reach_table(record.reach))
    families: dict[str, tuple[float, str]] = {}
    for name, margin in record.margins_mm.items():
        family = name.split(".")[0]
        families[family] = min(families.get(family, (float("inf"), "")), (margin, name))
    table = _table("Clearances, mm to spare, tightest of each kind", [("kind", "l"), ("to spare", "r"), ("where", "l")])
    for family, (margin, name) in families.items():
        table.add_row(family, f"{margin:.2f}", name.removeprefix(f"{family}."))
    console.print(table)


def _show_binds(console: Console, record: LayoutRecord) -> None:
    console.print("What binds" if record.binds else "Nothing binds: every constraint has room", style="bold")
    for binding in record.binds:
        rule = f"broken by {-binding.margin_mm:.2f} mm; must hold: " if binding.margin_mm < 0 else ""
        console.print(f"  {binding.name}: {rule}{binding.sentence}")


def front_row(front: FrontRecord, run: RunRecord, best: LayoutRecord | None) -> list[str]:
    """One row of the survey table: instrument, trials, layouts, the best-tuned layout's figures; dashes if none."""
    if best is None:
        row = [run.instrument, "-", "-", str(run.trials_done), "0", "no"]
        return row + ["-"] * (len(SURVEY_COLUMNS) - len(row))
    main = [note for note in best.notes if not note.alternate]
    worst = max((abs(note.cents) for note in main if note.cents is not None), default=float("nan"))
    return [
        run.instrument,
        str(len(best.holes)),
        str(len(main)),
        str(run.trials_done),
        str(len(front.layouts)),
        "yes" if best.feasible else "no",
        f"{best.objectives['tuning']:.2f}",
        f"{worst:.1f}",
        f"{best.objectives['reach']:.0f}",
        f"{best.objectives['evenness']:.1f}",
    ]


def conflict_row(loaded: LoadedProject) -> list[str]:
    """A project that was not searched, as its limits conflict."""
    holes = str(len(loaded.project.holes))
    row = [loaded.project.instrument.name, holes, "-", "not searched", "-", "no: limits conflict"]
    return row + ["-"] * (len(SURVEY_COLUMNS) - len(row))


SURVEY_COLUMNS = (
    "instrument",
    "holes",
    "notes",
    "trials",
    "layouts on the front",
    "feasible",
    "RMS cents",
    "worst note, cents",
    "reach %",
    "evenness %",
)
