"""A comparison as tables. Reads records only."""

from collections.abc import Callable, Sequence

from rich.console import Console

from optimizer.records.comparison import (
    ComparedLayout,
    Comparison,
    ComparisonRecord,
    FrontComparison,
    HoleChange,
    KeyChange,
    LeverChange,
    NoteChange,
    Numbers,
    PieceChange,
    ReachChange,
)
from optimizer.views import objectives
from optimizer.views.table import Cell, Column, Item, Table, tabled
from optimizer.views.terminal import show_lines, show_table
from optimizer.words import counted


def show_comparison(console: Console, record: ComparisonRecord) -> None:
    """What is compared, then each against the first."""
    show_table(console, layouts_table(record))
    show_lines(console, file_lines(record), "dim", whole=True)
    show_lines(console, [mass_words(record)], "dim")
    for comparison in record.comparisons:
        console.print(f"\n{comparison.other} against {comparison.first}", style="bold")
        show_lines(console, comparison.remarks, "yellow")
        if comparison.fronts is not None:
            show_lines(console, comparison.fronts.sentences, heading="Fronts")
            if comparison.fronts.objectives:
                show_table(console, fronts_table([comparison]))
        for table in change_tables(record, comparison):
            show_table(console, table)
    show_lines(console, record.cautions, heading="Cautions")


def file_lines(record: ComparisonRecord) -> list[str]:
    """Where each layout was read from."""
    return [f"{each.mark}: {each.file}" for each in record.layouts]


def mass_words(record: ComparisonRecord) -> str:
    """How the printed mass was counted."""
    densities = [each.printed.density_g_per_cm3 for each in record.layouts]
    told = (
        f"{densities[0]:g}"
        if len(set(densities)) == 1
        else ", ".join(f"{density:g} ({each.mark})" for each, density in zip(record.layouts, densities, strict=True))
    )
    return (
        f"mass: wall, tenons and sockets of the body beyond the crook, less holes, at infill 100 % and "
        f"{told} g/cm3; raised seats, posts, keys and crook left out"
    )


def change_tables(record: ComparisonRecord, found: Comparison) -> list[Table]:
    """Every table of one layout against the first, as far as there is anything in it."""
    return [
        notes_table(found),
        holes_table(record, found),
        *([reach_table(found)] if found.reach else []),
        *([keys_table(found)] if found.keys else []),
        *([pieces_table(found)] if found.pieces else []),
        binds_table(found),
    ]


def layouts_table(record: ComparisonRecord) -> Table:
    """The layouts and their figures."""
    names = objectives.worth_comparing([each.objectives for each in record.layouts])
    columns: list[Column[ComparedLayout]] = [
        Column("mark", lambda each: Cell(each.mark, f"tag mark-{each.mark.lower()}"), heading=""),
        Column("instrument", lambda each: each.instrument, wraps=True),
        Column("layout", lambda each: each.id),
        Column("feasible", lambda each: Cell("yes") if each.feasible else Cell("NO", "bad"), right=True),
        *objectives.columns(names, lambda each: each.objectives),
        Column("holes", lambda each: each.holes, "d"),
        Column("length", lambda each: each.body_length_mm, ".2f", "mm"),
        Column("bell", lambda each: each.bell_diameter_mm, ".2f", "mm"),
        Column("mass", lambda each: each.printed.mass_g, ".1f", "g"),
    ]
    return tabled("Compared", columns, record.layouts)


def fronts_table(comparisons: Sequence[Comparison]) -> Table:
    """Shares of the box and of layouts beaten, of pairs whose fronts have objectives in common."""
    pairs = [(each, each.fronts) for each in comparisons if each.fronts is not None and each.fronts.objectives]
    columns: list[Column[tuple[Comparison, FrontComparison]]] = [
        Column("fronts", lambda row: f"{row[0].first} and {row[0].other}"),
        Column("hypervolume", lambda row: row[1].hypervolume[0], ".4f", heading="hypervolume of the first"),
        Column("other hypervolume", lambda row: row[1].hypervolume[1], ".4f", heading="of the other"),
        Column("first beaten", lambda row: 100 * row[1].beaten_share[0], ".0f", "%"),
        Column("other beaten", lambda row: 100 * row[1].beaten_share[1], ".0f", "%"),
    ]
    box = objectives.box(pairs[0][1].reference_point) if pairs else ""
    said = f"hypervolume: share of the box below {box}; beaten: some layout of the other is better"
    return tabled("Shares", columns, pairs, notes=[said])


def notes_table(found: Comparison) -> Table:
    """Every chart line of either."""
    a, b = found.first, found.other
    columns: list[Column[NoteChange]] = [
        Column("written", lambda note: note.written),
        Column("register", lambda note: note.register_number, "d"),
        *_pair(found, "cents", lambda note: note.cents, "+z.1f"),
        Column("further", lambda note: note.difference_cents, "+z.1f", heading=f"{b} - {a}"),
        *_pair(found, "peak / lower", lambda note: note.height_over_lower, ".2f"),
        Column("higher", lambda note: note.height_difference, "+z.2f", heading=f"{b} - {a}"),
        Column("remark", lambda note: note_remark(note, a, b), wraps=True),
    ]
    said = "by the real resonances; peak / lower: how far the register stands out"
    return tabled("Notes", columns, found.notes, said)


def note_remark(note: NoteChange, a: str, b: str) -> str:
    """What sets a note's two lines apart, in words."""
    said = ["alternate"] if note.alternate else []
    if note.state != "both":
        said.append(f"only in {b if note.state == 'new' else a}")
    elif note.touches[0] != note.touches[1]:
        said.append(f"pressed {note.touches[0]} / {note.touches[1]}")
    said += [
        f"{mark}: {status}" for mark, status in zip((a, b), note.status, strict=True) if status not in (None, "ok")
    ]
    return "; ".join(said)


def holes_table(record: ComparisonRecord, found: Comparison) -> Table:
    """Every hole of either."""
    columns: list[Column[HoleChange]] = [
        Column("hole", lambda hole: hole.id),
        *_pair(found, "position", lambda hole: hole.position_mm, ".2f"),
        Column("moved", lambda hole: hole.moved_mm, "+z.2f"),
        *_pair(found, "diameter", lambda hole: hole.diameter_mm, ".2f"),
        Column("resized", lambda hole: hole.resized_mm, "+z.2f"),
        Column("state", lambda hole: ", ".join(hole.changes) if hole.state == "changed" else hole.state, wraps=True),
    ]
    limits = record.thresholds
    said = (
        f"unchanged: bit-identical; moved from {limits.moved_mm:g} mm, resized from {limits.resized_mm:g} mm, turned "
        f"from {limits.turned_deg:g} degree; slight: less than that"
    )
    return tabled("Holes", columns, found.holes, f"mm: {holes_sentence(found.holes)}", [said])


def holes_sentence(holes: Sequence[HoleChange]) -> str:
    """How many holes are in which state."""
    states = {state: sum(hole.state == state for hole in holes) for state in ("unchanged", "changed", "new", "gone")}
    return ", ".join(f"{count} {state}" for state, count in states.items() if count) or "none"


def reach_table(found: Comparison) -> Table:
    """Every pair of fingers."""
    columns: list[Column[ReachChange]] = [
        Column("pair", lambda pair: pair.pair),
        *_pair(found, "", lambda pair: pair.spacing_mm, ".2f"),
        Column("further", lambda pair: pair.difference_mm, "+z.2f", heading=f"{found.other} - {found.first}"),
        *_pair(found, "limit", lambda pair: pair.working_mm, ".1f", both=True),
        Column("verdict", lambda pair: " / ".join(words or "-" for words in pair.verdict), wraps=True),
    ]
    return tabled("Reach", columns, found.reach, "mm")


_Lever = tuple[KeyChange, LeverChange | None, bool]
"""A row of the keys' table: a key, one of its levers if it has any, and whether it is the key's first row."""


def keys_table(found: Comparison) -> Table:
    """Keys that changed, a row for each lever."""
    changed = [key for key in found.keys if key.state != "unchanged"]
    same = counted(len(found.keys) - len(changed), "key")
    rows: list[_Lever] = [
        (key, lever, number == 0) for key in changed for number, lever in enumerate([*key.levers] or [None])
    ]
    columns: list[Column[_Lever]] = [
        Column("key", lambda row: row[0].id if row[2] else ""),
        Column("touch moved", lambda row: row[0].moved_mm if row[2] else "", "+z.2f"),
        Column("turned", lambda row: row[0].turned_deg if row[2] else "", "+z.0f", heading="deg"),
        Column("lever to", lambda row: row[1].hole if row[1] else None, right=True),
        *_pair(found, "", lambda row: row[1].length_mm if row[1] else (None, None), ".1f"),
        Column("state", lambda row: _key_words(row[0]) if row[2] else "", wraps=True),
    ]
    return tabled("Keys", columns, rows, f"mm: {same} unchanged")


def _key_words(key: KeyChange) -> str:
    return ", ".join(key.changes) if key.state == "changed" else key.state


def pieces_table(found: Comparison) -> Table:
    """Every piece of either."""
    columns: list[Column[PieceChange]] = [
        Column("piece", lambda piece: str(piece.number)),
        *_pair(found, "length", lambda piece: piece.length_mm, ".2f"),
        *_pair(found, "joint at", lambda piece: piece.joint_at_mm, ".2f"),
    ]
    return tabled("Pieces", columns, found.pieces, "mm, from the reed")


def binds_table(found: Comparison) -> Table:
    """What binds in one alone and in both."""
    binds = found.binds
    rows = [
        (f"only in {found.first}", binds.only_first),
        (f"only in {found.other}", binds.only_other),
        ("both", binds.both),
    ]
    columns: list[Column[tuple[str, list[str]]]] = [
        Column("binds", lambda row: row[0]),
        Column("names", lambda row: ", ".join(row[1]) or "nothing", heading="limits and ranges", wraps=True),
    ]
    return tabled("What binds", columns, rows)


def _pair(
    found: Comparison, what: str, values: Callable[[Item], Numbers], pattern: str, both: bool = False
) -> list[Column[Item]]:
    """A figure of the first and of the other; what: said over the first, or over both."""
    heads = f"{what} {found.first}".strip(), f"{what} {found.other}".strip() if both else found.other
    return [
        Column(f"{what} of the first", lambda item: values(item)[0], pattern, heading=heads[0]),
        Column(f"{what} of the other", lambda item: values(item)[1], pattern, heading=heads[1]),
    ]
