"""What becomes of a layout's notes, as tables."""

from collections.abc import Callable, Sequence

from rich.console import Console

from optimizer.records.tolerance import Band, BoreTolerance, DeviationRecord, HoleAdvice, NoteTolerance, ToleranceRecord
from optimizer.views.doubts import shares_words
from optimizer.views.table import Column, Table, tabled
from optimizer.views.terminal import show_lines, show_table
from optimizer.words import counted, listed

MOST_SHARES = 5
NOTES_OF_A_HOLE = 4
SHARP_CENTS = 0.5
"""What is less is not worth a word."""


def show_tolerance(console: Console, record: ToleranceRecord) -> None:
    """Deviations, notes, chance, what matters most, and holes to ream."""
    console.print(f"{record.instrument}, layout {record.layout}: what becomes of its notes", style="bold")
    show_table(console, deviations_table(record.deviations))
    show_table(console, notes_table(record))
    if record.left_out:
        console.print(f"  left out, as they do not sound: {', '.join(record.left_out)}", style="yellow")
    _show_chance(console, record)
    shares = [f"{share.name}: {share.percent:.0f} %" for share in record.shares[:MOST_SHARES]]
    heading = "What matters most, by its share of all main notes' variances"
    show_lines(console, shares or ["nothing: every deviation is 0"], heading=heading)
    if made := shares_words(record.doubt):
        show_lines(console, [f"by source, the formulas among them: {made}"], "dim")
    show_table(console, reaming_table(record.holes))
    _show_reaming(console, record)
    if record.bore:
        show_table(console, bore_tolerance_table(record.bore))
    show_lines(console, record.cautions, heading="Cautions")


def deviations_table(deviations: Sequence[DeviationRecord]) -> Table:
    """What may deviate, by how much, and where the figure comes from."""
    columns: list[Column[DeviationRecord]] = [
        Column("what", lambda item: item.kind),
        Column("+-", lambda item: f"{item.sd:.3g} {item.unit}", heading="deviation +-", right=True),
        Column("how, and where the figure comes from", lambda item: f"{item.varies}; {item.source}", wraps=True),
    ]
    return tabled("What may deviate", columns, deviations, "one standard deviation of each")


def _band(key: str, heading: str, band: Callable[[NoteTolerance], Band]) -> list[Column[NoteTolerance]]:
    """Deviation and quantiles of a note's band."""
    return [
        Column(f"{key} sd", lambda note: band(note).sd, ".1f", heading=heading),
        Column(f"{key} 5 %", lambda note: band(note).p05, "+z.1f", heading="5 %"),
        Column(f"{key} 50 %", lambda note: band(note).p50, "+z.1f", heading="50 %"),
        Column(f"{key} 95 %", lambda note: band(note).p95, "+z.1f", heading="95 %"),
    ]


NOTES: Sequence[Column[NoteTolerance]] = [
    Column("note", lambda note: f"{note.written} alternate" if note.alternate else note.written),
    Column("register", lambda note: note.register_number, "d"),
    Column("cents", lambda note: note.cents, "+z.1f"),
    Column("making", lambda note: note.making_sd_cents, ".1f", heading="making +-"),
    Column("playing", lambda note: note.playing_sd_cents, ".1f", heading="playing +-"),
    Column("model", lambda note: note.model_sd_cents, ".1f", heading="formulas +-"),
    *_band("slopes", "slopes: +-", lambda note: note.linear),
    Column("drawn mean", lambda note: note.drawn.mean, "+z.1f", heading="drawn: mean"),
    *_band("drawn", "drawn: +-", lambda note: note.drawn),
]


def notes_table(record: ToleranceRecord) -> Table:
    """What each note deviates, by slopes and by draws."""
    notes = (
        f"draws: seed {record.seed}; each computed anew, shifts counted from the layout's own resonances; their +- "
        f"is good to {100 * record.sd_error:.1f} %, their 5 and 95 % values to {record.quantile_error:.2f} of +-",
        "+-: one standard deviation of the note's cents; making: bore by stretch, holes, shrinkage; playing: air and "
        "reed; formulas: what they may be wrong by, in neither band; lip and breath are left out",
    )
    by = f"cents; by slopes, and by {counted(record.samples, 'draw')}"
    return tabled("Notes", NOTES, record.notes, by, notes)


def _show_chance(console: Console, record: ToleranceRecord) -> None:
    chance = record.chance
    console.print(
        f"All {counted(chance.notes, 'main note')} within +-{chance.within_cents:g} cents: {100 * chance.share:.1f} % "
        f"of the draws, so between {100 * chance.low:.1f} and {100 * chance.high:.1f} % with 95 % confidence; "
        f"by the slopes {100 * chance.linear_share:.1f} %",
        style="bold",
    )
    console.print(
        f"robustness: {record.robustness_cents:.2f} cents, root mean square of `making +-` over the main notes"
    )


def reaming_table(holes: Sequence[HoleAdvice]) -> Table:
    """What a tenth of a millimetre more of each hole does."""
    columns: list[Column[HoleAdvice]] = [
        Column("hole", lambda hole: hole.hole),
        Column("diameter", lambda hole: hole.diameter_mm, ".2f"),
        Column("most", lambda hole: hole.cents_per_tenth, "+.2f"),
        Column("notes it moves", _moved, wraps=True),
    ]
    return tabled("Holes: cents for 0.1 mm more diameter", columns, holes)


def bore_tolerance_table(stretches: Sequence[BoreTolerance]) -> Table:
    """What a tenth of a millimetre more of each stretch of the bore does, and which to measure first."""
    columns: list[Column[BoreTolerance]] = [
        Column("of", lambda one: one.part),
        Column("from", lambda one: one.from_mm, ".0f"),
        Column("to", lambda one: one.to_mm, ".0f"),
        Column("all notes", lambda one: one.rms_cents, ".2f", heading="all notes, RMS"),
        Column("most", lambda one: one.cents_per_tenth, "+.2f"),
        Column("notes it moves", _moved, wraps=True),
    ]
    first = max(stretches, key=lambda one: one.rms_cents, default=None)
    printed = [one for one in stretches if one.part.startswith(("piece", "the body"))]
    notes = [f"measure first, with pins: {_place(first)}"] if first else []
    if printed and first not in printed:
        notes.append(f"of what is printed: {_place(max(printed, key=lambda one: one.rms_cents))}")
    return tabled("Bore: cents for 0.1 mm more diameter", columns, stretches, "mm; stretch by stretch", notes)


def _place(one: BoreTolerance) -> str:
    where = f"{one.part} from {one.from_mm:.0f} to {one.to_mm:.0f} mm"
    return f"{where}, where 0.1 mm moves {one.note} by {one.cents_per_tenth:+.1f} cents"


def _moved(hole: HoleAdvice | BoreTolerance) -> str:
    """Notes that a hole or a stretch of the bore moves most."""
    most = sorted(hole.moves.items(), key=lambda item: -abs(item[1]))
    named = [f"{note} {cents:+.2f}" for note, cents in most[:NOTES_OF_A_HOLE]]
    more = [f"and {len(most) - NOTES_OF_A_HOLE} more"] if len(most) > NOTES_OF_A_HOLE else []
    return ", ".join(named + more)


def _show_reaming(console: Console, record: ToleranceRecord) -> None:
    worth = [hole for hole in record.holes if hole.under_mm]
    heading = f"Print under size and ream, from the bell up: holes worth {record.worth_cents:g} cents for 0.1 mm"
    show_lines(console, map(_sentence, worth) if worth else ["none"], heading=heading, whole=True)
    if worth:
        show_lines(console, [*sharp_until_reamed(worth), _printer_line(record)], "dim")


def sharp_until_reamed(under: Sequence[HoleAdvice]) -> list[str]:
    """Notes that stand sharp while all these holes are under size, in a sentence; none where none does.

    Parameters
    ----------
    under : holes that are printed under size
    """
    off: dict[str, float] = {}
    for hole in under:
        for note, cents in hole.moves.items():
            off[note] = off.get(note, 0.0) - cents * 10.0 * (hole.under_mm or 0.0)
    sharp = [note for note, cents in off.items() if cents > SHARP_CENTS]
    if not sharp:
        return []
    stand = "stands" if len(sharp) == 1 else "stand"
    return [
        f"until all are reamed, {listed(sharp)} {stand} sharp, as narrower holes hold less air where they are closed, "
        "while others lie flat: do not tune the reed by them"
    ]


def _sentence(hole: HoleAdvice) -> str:
    """What to do with one hole."""
    drawn = ""
    if hole.drawn_mm is not None:
        sizes = dict.fromkeys(f"{size:.2f}" for size in hole.drawn_mm)
        drawn = f" (draw {' x '.join(sizes)})"
    return (
        f"{hole.hole}: print at {hole.finished_mm:.2f} mm{drawn}, {hole.under_mm:.2f} under; {hole.note} comes out "
        f"about {hole.flat_cents:.0f} cents flat, not sharp with {100 * (hole.certainty or 0.0):.0f} % certainty; "
        f"ream toward {hole.diameter_mm:.2f} mm until {hole.note} stands at {hole.reading_cents:+z.1f}"
    )


def _printer_line(record: ToleranceRecord) -> str:
    if record.hole_undersize_mm is None:
        return "sizes are finished ones; where your printer makes holes too small, draw them wider by that much"
    return (
        f"`draw` has the printer's shrinkage and the {record.hole_undersize_mm:g} mm in it that its holes come out too "
        "small; measure at the layout's temperature, with the reed to be played"
    )
