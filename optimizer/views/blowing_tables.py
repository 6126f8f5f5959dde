"""How blowing moves notes: a table, which move most, and what the figures leave out."""

from collections.abc import Iterable, Sequence

from rich.console import Console

from optimizer.records.blowing import BlowingRecord, BlownHow, BlownNote, ReedMeant
from optimizer.views.table import Cell, Column, Table, tabled
from optimizer.views.terminal import show_lines, show_table
from optimizer.words import listed

MOST_TOLD = 5
LEFT_OUT = (
    "the lip is not modelled, no steady pressure stands in the bore: players bend notes by more than this; take it for "
    "which notes drift and which way, not for a pitch"
)
STRONG = 1.0


def blowing_table(found: BlowingRecord) -> Table:
    """A row for each note."""
    every = len(found.reeds)
    kilopascals = any(reed.closing_kpa is not None for reed in found.reeds)
    few = f"(n): only so many of the {every} reeds keep a tone up there; " if every > 1 else ""
    columns: Sequence[Column[BlownNote]] = [
        Column("written", lambda note: note.written),
        Column("reg", lambda note: note.register_number, "d"),
        Column("fingered", lambda note: note.touches),
        Column("limit", lambda note: note.cents, "+z.1f", heading="soft limit"),
        Column("starts", lambda note: _starts(note, kilopascals), heading="starts at", right=True),
        *(_column(at, how, every) for at, how in enumerate(found.ways)),
    ]
    notes = [
        "soft limit: cents of the resonance against the target, as in all other tables; what follows is over that, in "
        "cents, lowest to highest over the reeds",
        "starts at: " + ("pressure in the mouth, kPa" if kilopascals else "pressure in the mouth, over the one that "
                         "shuts the reed"),
        ", ".join(f"{how} {share:.0%}" for how, share in found.ways.items())
        + " of the way from where a note starts to where the reed shuts",
        f"{few}- : none does, as it warbles or another of the fingering's resonances takes over, or none was found",
    ]  # fmt: skip
    return tabled("", columns, found.notes, notes=notes)


def _column(at: int, how: str, every: int) -> Column[BlownNote]:
    return Column(how, lambda note: _range(note.blown[at], every), right=True)


def _starts(note: BlownNote, kilopascals: bool) -> str | None:
    low, high = (note.starts_kpa_low, note.starts_kpa_high) if kilopascals else (note.starts_low, note.starts_high)
    if low is None or high is None:
        return None
    return _to(*(f"{end:.1f}" if kilopascals else f"{end:.2f}" for end in (low, high)))


def _range(blown: BlownHow, every: int) -> Cell | None:
    if blown.cents_low is None or blown.cents_high is None:
        return None
    few = f" ({blown.steady})" if blown.steady < every else ""
    return Cell(_to(f"{blown.cents_low:+z.1f}", f"{blown.cents_high:+z.1f}") + few)


def _to(low: str, high: str) -> str:
    """From one to the other, where they differ as told."""
    return low if low == high else f"{low} to {high}"


def drift(note: BlownNote) -> float | None:
    """How far apart blowing and reeds take a note, its soft limit among it [cents]; None where nothing is known."""
    ends = [end for each in note.blown for end in (each.cents_low, each.cents_high) if end is not None]
    return max(*ends, 0.0) - min(*ends, 0.0) if ends else None


def told(found: BlowingRecord) -> list[str]:
    """Which notes drift most, and of which nothing can be said."""
    drifts = sorted(((drift(note) or 0.0, note) for note in found.notes), key=lambda pair: -pair[0])
    most = [f"{note.written} {cents:.0f}" for cents, note in drifts[:MOST_TOLD] if cents > 0.0]
    mute = [note.written for note in found.notes if note.starts == 0]
    unknown = [note.written for note in found.notes if note.starts and drift(note) is None]
    lines = [f"moved most by reed and blowing, cents: {', '.join(most)}"] if most else []
    if mute:
        lines.append(f"started by none of these reeds: {listed(mute)}")
    if unknown:
        lines.append(f"no tone that keeps itself up was found: {listed(unknown)}")
    if found.silent:
        lines.append(f"left out, as this layout sounds nothing near: {listed(found.silent)}")
    return lines


def reed_words(reeds: Sequence[ReedMeant]) -> str:
    """Which reeds are meant, in a sentence."""
    strengths, slits = [reed.strength for reed in reeds], [reed.slit_mm2 for reed in reeds]
    closings = [reed.closing_kpa for reed in reeds if reed.closing_kpa is not None]
    strength = _between(_about(each) for each in strengths)
    if closings:
        return f"reeds with a slit of {_between(slits)} mm2, shut by {_between(closings)} kPa: strength {strength}"
    slit = _between(_about(each) for each in slits)
    return (
        f"reeds of strength {strength}, as usual for such a bore (from memory): one that 5 kPa shut would "
        f"have a slit of {slit} mm2; yours by --slit-mm2 and --closing-kpa"
    )


def _about(value: float) -> float:
    """Its first two digits."""
    return float(f"{value:.1e}")


def _between(values: Iterable[float]) -> str:
    every = sorted(values)
    return _to(f"{every[0]:g}", f"{every[-1]:g}")


def show_blowing(console: Console, found: BlowingRecord) -> None:
    """All of it."""
    console.print(f"{found.instrument}, layout {found.layout}: {reed_words(found.reeds)}", soft_wrap=True)
    show_table(console, blowing_table(found))
    show_lines(console, told(found), whole=True)
    if max(reed.strength for reed in found.reeds) > STRONG:
        strong = "a reed stronger than 1 may let its flow jump, which this model does not follow: take less from it"
        show_lines(console, [strong], "yellow", whole=True)
    inertia = found.reed_resonance_hz
    follows = "at once" if inertia is None else f"with the inertia of a resonance at {inertia:g} Hz"
    show_lines(console, [f"the reed follows the pressure {follows}, {LEFT_OUT}"], "dim", whole=True)
