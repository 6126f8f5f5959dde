"""A comparison as tables for a terminal. Reads records only."""

from collections.abc import Sequence

from rich.console import Console
from rich.table import Table

from optimizer.project.objectives import UNITS
from optimizer.records.comparison import BindChange, Comparison, ComparisonRecord, HoleChange, NoteChange, Numbers
from optimizer.words import counted, or_dash


def show_comparison(console: Console, record: ComparisonRecord) -> None:
    """What is compared, then each against the first."""
    console.print(_layouts(record))
    for each in record.layouts:
        console.print(f"  {each.mark}: {each.file}", soft_wrap=True, style="dim")
    console.print(f"  {mass_words(record)}", style="dim")
    for comparison in record.comparisons:
        _show_one(console, record, comparison)
    console.print("Cautions", style="bold")
    for caution in record.cautions:
        console.print(f"  {caution}")


def mass_words(record: ComparisonRecord) -> str:
    """How the printed mass was counted."""
    return (
        f"mass: wall, tenons and sockets of the body beyond the crook, less holes, at infill 100 % and "
        f"{record.layouts[0].printed.density_g_per_cm3:g} g/cm3; raised seats, posts, keys and crook left out"
    )


def threshold_words(record: ComparisonRecord) -> str:
    """From where a change is called one."""
    limits = record.thresholds
    return (
        f"unchanged: bit-identical; moved from {limits.moved_mm:g} mm, resized from {limits.resized_mm:g} mm, turned "
        f"from {limits.turned_deg:g} degree; slight: less than that"
    )


def _table(title: str, columns: Sequence[str], words: Sequence[str] = ()) -> Table:
    table = Table(title=title, title_justify="left", header_style="bold", pad_edge=False, box=None)
    for number, name in enumerate(columns):
        left = number == 0 or name in words
        table.add_column(name, justify="left" if left else "right", no_wrap=name not in words)
    return table


def _pair(pair: Numbers, pattern: str) -> list[str]:
    return [or_dash(value, pattern) for value in pair]


def _layouts(record: ComparisonRecord) -> Table:
    names = [name for name in UNITS if any(name in each.objectives for each in record.layouts)]
    heads = ["", "instrument", "layout", "feasible", *(f"{name} {UNITS[name]}" for name in names)]
    table = _table("Compared", [*heads, "holes", "length mm", "bell mm", "mass g"], ("instrument",))
    for each in record.layouts:
        figures = [or_dash(each.objectives.get(name), ".2f") for name in names]
        sizes = [str(each.holes), f"{each.body_length_mm:.2f}", f"{each.bell_diameter_mm:.2f}"]
        state = "yes" if each.feasible else "NO"
        sizes.append(f"{each.printed.mass_g:.1f}")
        table.add_row(each.mark, each.instrument, each.id, state, *figures, *sizes)
    return table


def _show_one(console: Console, record: ComparisonRecord, found: Comparison) -> None:
    a, b = found.first, found.other
    console.print(f"\n{b} against {a}", style="bold")
    for remark in found.remarks:
        console.print(f"  {remark}", style="yellow")
    if found.fronts is not None:
        _show_fronts(console, found)
    console.print(_notes(found.notes, a, b))
    _show_holes(console, record, found)
    if found.reach:
        table = _table("Reach, mm", ["pair", a, b, f"{b} - {a}", f"limit {a}", f"limit {b}", "verdict"], ("verdict",))
        for pair in found.reach:
            said = " / ".join(words or "-" for words in pair.verdict)
            figures = [*_pair(pair.spacing_mm, ".2f"), or_dash(pair.difference_mm, "+z.2f")]
            table.add_row(pair.pair, *figures, *_pair(pair.working_mm, ".1f"), said)
        console.print(table)
    _show_keys(console, found)
    if found.pieces:
        table = _table("Pieces, mm, from the reed", ["piece", f"length {a}", b, f"joint at {a}", b])
        for piece in found.pieces:
            table.add_row(str(piece.number), *_pair(piece.length_mm, ".2f"), *_pair(piece.joint_at_mm, ".2f"))
        console.print(table)
    _show_binds(console, found.binds, a, b)


def _show_fronts(console: Console, found: Comparison) -> None:
    fronts = found.fronts
    if fronts is None:
        return
    box = ", ".join(f"{value:g} {UNITS[name]} {name}" for name, value in fronts.reference_point.items())
    console.print("Fronts", style="bold")
    for sentence in fronts.sentences:
        console.print(f"  {sentence}")
    if fronts.objectives:
        shares = " and ".join(
            f"{mark} {value:.4f}" for mark, value in zip((found.first, found.other), fronts.hypervolume, strict=True)
        )
        console.print(f"  hypervolume, share of the box below {box}: {shares}")


def _notes(notes: Sequence[NoteChange], a: str, b: str) -> Table:
    heads = ["written", "register", f"cents {a}", b, f"{b} - {a}", f"peak / lower {a}", b, f"{b} - {a}", "remark"]
    table = _table("Notes, by the real resonances; peak / lower: how far the register stands out", heads, ("remark",))
    for note in notes:
        table.add_row(
            note.written,
            str(note.register_number),
            *_pair(note.cents, "+z.1f"),
            or_dash(note.difference_cents, "+z.1f"),
            *_pair(note.height_over_lower, ".2f"),
            or_dash(note.height_difference, "+z.2f"),
            note_remark(note, a, b),
        )
    return table


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


def _show_holes(console: Console, record: ComparisonRecord, found: Comparison) -> None:
    a, b = found.first, found.other
    heads = ["hole", f"position {a}", b, "moved", f"diameter {a}", b, "resized", "state"]
    table = _table(f"Holes, mm: {holes_sentence(found.holes)}", heads, ("state",))
    for hole in found.holes:
        places, sizes = _pair(hole.position_mm, ".2f"), _pair(hole.diameter_mm, ".2f")
        moved = [or_dash(hole.moved_mm, "+z.2f"), or_dash(hole.resized_mm, "+z.2f")]
        table.add_row(hole.id, *places, moved[0], *sizes, moved[1], hole_words(hole))
    console.print(table)
    console.print(f"  {threshold_words(record)}", style="dim")


def hole_words(hole: HoleChange) -> str:
    """A hole's state in words."""
    return ", ".join(hole.changes) if hole.state == "changed" else hole.state


def holes_sentence(holes: Sequence[HoleChange]) -> str:
    """How many holes are in which state."""
    states = {state: sum(hole.state == state for hole in holes) for state in ("unchanged", "changed", "new", "gone")}
    return ", ".join(f"{count} {state}" for state, count in states.items() if count) or "none"


def _show_keys(console: Console, found: Comparison) -> None:
    changed = [key for key in found.keys if key.state != "unchanged"]
    if not found.keys:
        return
    same = counted(len(found.keys) - len(changed), "key")
    a, b = found.first, found.other
    table = _table(f"Keys, mm: {same} unchanged", ["key", "touch moved", "deg", "lever to", a, b, "state"], ("state",))
    for key in changed:
        words = ", ".join(key.changes) if key.state == "changed" else key.state
        head = [key.id, or_dash(key.moved_mm, "+z.2f"), or_dash(key.turned_deg, "+z.0f")]
        for lever in key.levers:
            table.add_row(*head, lever.hole, *_pair(lever.length_mm, ".1f"), words)
            head, words = [""] * 3, ""
        if not key.levers:
            table.add_row(*head, "-", "-", "-", words)
    console.print(table)


def _show_binds(console: Console, binds: BindChange, a: str, b: str) -> None:
    console.print("What binds", style="bold")
    for words, names in ((f"only in {a}", binds.only_first), (f"only in {b}", binds.only_other), ("both", binds.both)):
        console.print(f"  {words}: {', '.join(names) or 'nothing'}")
