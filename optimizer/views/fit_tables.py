"""Fits side by side as tables for a terminal: hands, and ways out of a reach that binds."""

from rich.console import Console
from rich.table import Table

from optimizer.limits.catalogue import of_the_hand
from optimizer.records.fits import FitSummary, HandEntry, HandsRecord, ReliefEntry, ReliefsRecord
from optimizer.words import counted


def _table(title: str, left: str, figures: tuple[str, ...], last: str) -> Table:
    table = Table(title=title, title_justify="left", header_style="bold", pad_edge=False, box=None)
    table.add_column(left)
    for name in figures:
        table.add_column(name, justify="right")
    table.add_column(last)
    return table


def binding_cell(fit: FitSummary) -> str:
    """Limits of the hand that bind, then how many others."""
    limits = [name for name in fit.binds if not name.startswith("range.")]
    hand = of_the_hand(limits)
    rest = len(limits) - len(hand)
    return ", ".join([*hand, *([counted(rest, "other limit")] if rest else [])]) or "no limit"


def _state(fit: FitSummary) -> str:
    """Whether everything is met, else what is not."""
    return "yes" if fit.feasible else "no: " + _wrong(fit)


def _wrong(fit: FitSummary) -> str:
    wrong = [f"a limit broken by {fit.violation_mm:.2f} mm"] if fit.violation_mm > 0 else []
    wrong += [f"{counted(fit.wrong_notes, 'note')} not speaking as wanted"] if fit.wrong_notes else []
    return ", ".join(wrong)


def _cents(value: float | None) -> str:
    return "-" if value is None else f"{value:+.2f}"


def show_hands(console: Console, record: HandsRecord) -> None:
    """One row a hand, then what rules a hand out."""
    figures = ("feasible", "RMS cents", "dearer by", "worst note", "plates", "at fewest", "RMS cents there", "reach %")
    title = f"{record.instrument} under {counted(len(record.hands), 'hand')}"
    table = _table(title, "hand", figures, "what binds at best")
    for entry in record.hands:
        table.add_row(*_hand_cells(entry))
    console.print(table)
    console.print(
        "  dearer by: RMS cents more than the hand that costs least; plates: finger holes under one", style="dim"
    )
    console.print("  at fewest: plates of the fit that gets by with fewest of those found", style="dim")
    for entry in record.hands:
        if entry.problems:
            how = "is ruled out" if entry.proved_impossible else "found no room"
            console.print(f"{entry.hand} {how}:", style="bold")
            for line in entry.problems:
                console.print(f"  {line}", soft_wrap=True)
    _show_cautions(console, record.cautions)


def _hand_cells(entry: HandEntry) -> list[str]:
    best, fewest = entry.best, entry.fewest_plates
    if best is None or fewest is None:
        return [entry.hand, "impossible" if entry.proved_impossible else "no", *["-"] * 7, "see below"]
    figures, fingers = best.objectives, len(best.plates) + len(best.bare)
    return [
        entry.hand,
        _state(best),
        f"{figures['tuning']:.2f}",
        _cents(entry.dearer_cents),
        f"{figures['worst_note']:.2f}",
        f"{len(best.plates)} of {fingers}",
        str(len(fewest.plates)) if fewest.feasible else "-",
        f"{fewest.objectives['tuning']:.2f}" if fewest.feasible else "-",
        f"{figures['reach']:.0f}",
        binding_cell(best),
    ]


def show_reliefs(console: Console, record: ReliefsRecord) -> None:
    """The project as it is, then every way out by its cost."""
    console.print(f"{record.instrument} under {record.hand}", style="bold")
    console.print(_as_it_is(record, "as it is"), soft_wrap=True)
    if not record.hand_limits:
        console.print("no limit of the hand binds in the layout nearest in tune: nothing to relieve")
        return
    console.print(f"what binds of the hand: {', '.join(record.hand_limits)}", soft_wrap=True)
    table = _table(
        "Single ways out, cheapest first", "way out", ("feasible", "RMS cents", "cost, cents"), "binds no more"
    )
    for entry in record.reliefs:
        if entry.fit is not None:
            table.add_row(*_relief_cells(entry, entry.fit))
    console.print(table)
    _show_untried(console, record)
    console.print("  each is the best of a few solves: some tenths of a cent mean little", style="dim")
    _show_cautions(console, record.cautions)


def show_ways_out(console: Console, record: ReliefsRecord, most: int = 4) -> None:
    """The cheapest ways out, for beneath a reach: what a new search does by itself, then single changes."""
    console.print("Ways out", style="bold")
    console.print("  " + _as_it_is(record, "the project solved anew for this hand, nothing changed"), soft_wrap=True)
    works = [entry for entry in record.reliefs if entry.feasible]
    nearest = [entry for entry in record.reliefs if entry.fit is not None and not entry.feasible]
    for entry in (works or nearest)[:most]:
        assert entry.fit is not None
        found = "" if entry.feasible else f", and even so {_wrong(entry.fit)}"
        console.print(f"  {_cents(entry.cost_cents)} cents RMS: {entry.sentence}{found}", soft_wrap=True)
    if not works and record.reliefs:
        console.print("  no single change tried leads to a layout that keeps everything", soft_wrap=True)
    _show_untried(console, record)


def _as_it_is(record: ReliefsRecord, what: str) -> str:
    base = record.as_it_is
    fits = "keeps everything" if base.feasible else _wrong(base)
    return f"{what}: {fits}, {base.objectives['tuning']:.2f} cents RMS"


def _show_untried(console: Console, record: ReliefsRecord) -> None:
    untried = record.untried
    if untried:
        console.print(
            f"  {len(untried)} of {counted(len(record.reliefs), 'way')} not tried for want of time (more --minutes): "
            f"{', '.join(untried)}",
            soft_wrap=True, style="dim",
        )  # fmt: skip


def _relief_cells(entry: ReliefEntry, fit: FitSummary) -> list[str]:
    gone = ", ".join(entry.relieved) or "-"
    return [entry.sentence, _state(fit), f"{fit.objectives['tuning']:.2f}", _cents(entry.cost_cents), gone]


def _show_cautions(console: Console, cautions: list[str]) -> None:
    for line in cautions:
        console.print(f"  {line}", style="dim")
