"""Fits side by side as tables: hands, and ways out of a reach that binds."""

from collections.abc import Sequence

from rich.console import Console

from optimizer.limits.catalogue import of_the_hand
from optimizer.records.fits import FitSummary, HandEntry, HandsRecord, ReliefEntry, ReliefsRecord
from optimizer.views.objectives import figure
from optimizer.views.table import Column, Table, tabled
from optimizer.views.terminal import show_lines, show_table
from optimizer.words import counted


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


def hands_table(record: HandsRecord) -> Table:
    """One row a hand: its best fit, and how few plates it gets by with."""
    title = f"{record.instrument} under {counted(len(record.hands), 'hand')}"
    notes = (
        "dearer by: RMS cents more than the hand that costs least; plates: finger holes under one",
        "at fewest: plates of the fit that gets by with fewest of those found",
    )
    return tabled(title, HANDS, record.hands, notes=notes)


def _best(entry: HandEntry, name: str) -> float | None:
    return None if entry.best is None else entry.best.objectives[name]


def _hand_state(entry: HandEntry) -> str:
    if entry.best is None:
        return "impossible" if entry.proved_impossible else "no"
    return _state(entry.best)


def _plates(entry: HandEntry) -> str | None:
    best = entry.best
    return None if best is None else f"{len(best.plates)} of {len(best.plates) + len(best.bare)}"


def _fewest(entry: HandEntry) -> FitSummary | None:
    """The fit with fewest plates, where that keeps everything."""
    fewest = entry.fewest_plates
    return fewest if fewest is not None and fewest.feasible else None


def _fewest_tuning(entry: HandEntry) -> float | None:
    fewest = _fewest(entry)
    return None if fewest is None else fewest.objectives["tuning"]


def _fewest_plates(entry: HandEntry) -> int | None:
    fewest = _fewest(entry)
    return None if fewest is None else len(fewest.plates)


def _binds(entry: HandEntry) -> str:
    return "see below" if entry.best is None else binding_cell(entry.best)


def _named(entry: HandEntry) -> str:
    return entry.hand + (f", gauged on {entry.gauged_on}" if entry.gauged_on else "")


HANDS: Sequence[Column[HandEntry]] = [
    Column("hand", _named, wraps=True),
    Column("feasible", _hand_state, right=True, wraps=True),
    Column("RMS", lambda entry: _best(entry, "tuning"), ".2f", "cents", wraps=True),
    Column("dearer by", lambda entry: entry.dearer_cents, "+.2f", wraps=True),
    Column("worst note", lambda entry: figure("worst_note", _best(entry, "worst_note")), ".2f", wraps=True),
    Column("plates", _plates, right=True, wraps=True),
    Column("at fewest", _fewest_plates, "d", wraps=True),
    Column("RMS there", _fewest_tuning, ".2f", heading="RMS cents there", wraps=True),
    Column("stretch", lambda entry: _best(entry, "stretch"), ".0f", "%", wraps=True),
    Column("binds", _binds, heading="what binds at best", wraps=True),
]


def show_hands(console: Console, record: HandsRecord) -> None:
    """One row a hand, then what rules a hand out."""
    show_table(console, hands_table(record))
    for entry in record.hands:
        if entry.problems:
            how = "is ruled out" if entry.proved_impossible else "found no room"
            show_lines(console, entry.problems, heading=f"{entry.hand} {how}:", whole=True)
    show_lines(console, record.cautions, "dim")


def reliefs_table(record: ReliefsRecord) -> Table:
    """Every way out that was tried, as the record has them: cheapest first."""
    tried = [(entry, entry.fit) for entry in record.reliefs if entry.fit is not None]
    return tabled("Single ways out, cheapest first", RELIEFS, tried)


RELIEFS: Sequence[Column[tuple[ReliefEntry, FitSummary]]] = [
    Column("way out", lambda row: row[0].sentence, wraps=True),
    Column("feasible", lambda row: _state(row[1]), right=True, wraps=True),
    Column("RMS", lambda row: row[1].objectives["tuning"], ".2f", "cents", wraps=True),
    Column("cost", lambda row: row[0].cost_cents, "+.2f", heading="cost, cents", wraps=True),
    Column("gone", lambda row: ", ".join(row[0].relieved) or None, heading="binds no more", wraps=True),
]


def show_reliefs(console: Console, record: ReliefsRecord) -> None:
    """The project as it is, then every way out by its cost."""
    console.print(f"{record.instrument} under {record.hand}", style="bold")
    console.print(_as_it_is(record, "as it is"), soft_wrap=True)
    if not record.hand_limits:
        console.print("no limit of the hand binds in the layout nearest in tune: nothing to relieve")
        return
    console.print(f"what binds of the hand: {', '.join(record.hand_limits)}", soft_wrap=True)
    show_table(console, reliefs_table(record))
    _show_untried(console, record)
    solves = "each is the best of a few solves: some tenths of a cent mean little"
    show_lines(console, [solves, *record.cautions], "dim")


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
        said = f"{len(untried)} of {counted(len(record.reliefs), 'way')} not tried for want of time (more --minutes)"
        show_lines(console, [f"{said}: {', '.join(untried)}"], "dim", whole=True)
