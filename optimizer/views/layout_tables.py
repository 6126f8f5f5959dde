"""Tables of one layout, for a terminal and a page alike. Reads records only."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from acoustics.pitch import cents_between
from optimizer.records.keys import AxleRecord, KeyRecord, LeverRecord
from optimizer.records.layout import BoreTable, HoleRecord, LayoutRecord, NoteRecord
from optimizer.records.pieces import PieceRecord
from optimizer.records.shares import Share
from optimizer.views.by_hand_words import number_words
from optimizer.views.doubts import DOUBT, doubt_notes
from optimizer.views.table import Column, Table, tabled
from optimizer.words import counted

if TYPE_CHECKING:
    from acoustics.resonances import Spectrum

Point = tuple[float, float]


def notes_table(
    notes: Sequence[NoteRecord],
    warnings: Sequence[str] = (),
    holes: Sequence[HoleRecord] = (),
    doubt: Sequence[Share] = (),
) -> Table:
    """Written, sounding, register, prediction against target with its doubt and what this is made of, and open holes
    outside a formula's range."""
    outside = {warning.split(":")[0] for warning in warnings}

    def doubtful(note: NoteRecord) -> list[str]:
        opened = zip(holes, note.openness, strict=True) if holes else ()
        return [hole.id for hole, share in opened if share > 0 and hole.id in outside]

    columns: list[Column[NoteRecord]] = [
        Column("written", lambda note: note.written),
        Column("sounding", lambda note: note.sounding),
        Column("register", lambda note: note.register_number, "d"),
        Column("target", lambda note: note.target_hz, ".2f", "Hz"),
        Column("cents", lambda note: note.cents, "+z.1f"),
        Column("+-", lambda note: note.sd_cents, ".1f", heading=DOUBT),
        Column("Q", lambda note: note.quality, ".0f"),
        Column("peak / lower", lambda note: note.height_over_lower, ".2f"),
        Column("peak / upper", lambda note: note.height_over_upper, ".2f"),
        Column("vent moves", lambda note: note.vent_moves_cents, "+z.0f"),
        Column("2nd / 1st", lambda note: note.register_ratio, ".3f"),
        Column("remark", lambda note: note_remark(note, doubtful(note)), wraps=True),
    ]
    said = (
        "peak / lower, upper: how many times as tall as the resonance below and above the note's own is; weak below 1 "
        "against the lower one, clear from about 2 (common practice, no source); below 1 against the upper one is "
        "usual in the lowest notes of a cone",
        "vent moves: how far open vents move the first resonance, cents",
        "2nd / 1st: the fingering's second resonance over its first, vents shut; 2 is an octave, 3 a twelfth",
    )
    return tabled("Notes", columns, notes, "by the real resonances", [*said, *doubt_notes(doubt)])


def note_remark(note: NoteRecord, doubtful: Sequence[str] = ()) -> str:
    """What is not as it should be with a note; doubtful: open holes outside a formula's range."""
    wrong = {
        "ok": "",
        "weak": "weak: the resonance below is taller",
        "other register": f"sounds resonance {note.resonance_number}, not {note.register_number}",
    }.get(note.status, note.status)
    parts = ["alternate" if note.alternate else "", wrong]
    parts += [f"outside a formula's range: {', '.join(doubtful)}"] if doubtful else []
    return " ".join(part for part in parts if part)


def resonances_table(notes: Sequence[NoteRecord], spectra: "Sequence[Spectrum]") -> Table:
    """All resonances of each note: frequency, height against the tallest, Q, interval to the target."""
    pairs = zip(notes, spectra, strict=True)
    rows = [(note, found, index) for note, found in pairs for index in range(len(found.frequency))]
    columns: list[Column[tuple[NoteRecord, Spectrum, int]]] = [
        Column("note", lambda row: row[0].written if row[2] == 0 else ""),
        Column("resonance", lambda row: f"{row[2] + 1}{' *' * (row[2] + 1 == row[0].register_number)}", right=True),
        Column("Hz", lambda row: float(row[1].frequency[row[2]]), ".2f"),
        Column("height", lambda row: float(row[1].height[row[2]] / row[1].height.max()), ".3f"),
        Column("Q", lambda row: float(row[1].quality[row[2]]), ".0f"),
        Column("from target", lambda row: cents_between(row[1].frequency[row[2]], row[0].target_hz), "+z.0f"),
    ]
    title = "Resonances to 4 kHz; height against the tallest, cents from the note's target"
    return tabled(title, columns, rows, notes=["*: the resonance that the note is to sound on"])


HOLES: Sequence[Column[HoleRecord]] = [
    Column("hole", lambda hole: f"{hole.id} locked" if hole.locked else hole.id),
    Column("worked by", lambda hole: f"{hole.by} on a plate" if hole.cover == "plate" else hole.by),
    Column("rest", lambda hole: hole.rest),
    Column("position", lambda hole: hole.position_mm, ".2f"),
    Column("azimuth", lambda hole: hole.azimuth_deg, "z.0f"),
    Column("diameter", lambda hole: _diameter(hole), ".2f"),
    Column("bore", lambda hole: hole.bore_diameter_mm, ".2f"),
    Column("chimney", lambda hole: hole.chimney_mm, ".2f"),
    Column("flat", lambda hole: hole.seat.outer_diameter_mm if hole.seat else None, ".1f"),
    Column("high", lambda hole: hole.seat.top_mm if hole.seat else None, "+z.1f"),
    Column("touch at", lambda hole: hole.touch_position_mm, ".2f"),
    Column("pad", lambda hole: hole.pad.diameter_mm if hole.pad else None, ".1f"),
    Column("opens", lambda hole: hole.pad.opening_mm if hole.pad else None, ".1f"),
    Column("cutoff", lambda hole: hole.lattice_cutoff_hz, ".0f", "Hz"),
]


TURNED = "azimuth: 0 at the front as the player holds it, more clockwise seen from the reed end"


def bore_table(bore: BoreTable) -> Table:
    """The bore's points, and the taper from the one before."""
    points = bore.points_mm
    rows = [(point, points[number - 1] if number else None) for number, point in enumerate(points)]
    columns: list[Column[tuple[Point, Point | None]]] = [
        Column("from the reed", lambda row: row[0][0], ".2f"),
        Column("diameter", lambda row: row[0][1], ".2f"),
        Column("taper", lambda row: None if row[1] is None else _taper(row[1], row[0]), ".3f", "mm in 100 mm"),
    ]
    said = f"mm; straight between; crook to {bore.crook_end_mm:g}" if bore.crook_end_mm else "mm; straight between"
    shaped = ", ".join(number_words(name, value) for name, value in bore.shaped_by.items())
    return tabled("Bore", columns, rows, said, [f"shaped by {shaped}"] if shaped else [])


def _taper(above: Point, below: Point) -> float | None:
    length = below[0] - above[0]
    return 100.0 * (below[1] - above[1]) / length if length > 0 else None


def holes_table(holes: Sequence[HoleRecord], pieces: Sequence[PieceRecord] = ()) -> Table:
    """Place and finished sizes of every hole; with pieces, also where on its piece it lies."""
    said = [
        TURNED,
        "flat, high: across the flat round the hole, and how far that stands above the body; below 0 it is sunk",
    ]
    columns = list(HOLES)
    if pieces:
        ends = _own_ends(pieces)
        on = {name: number for number, (_, names) in enumerate(ends) for name in names}
        columns[4:4] = [
            Column("piece", lambda hole: on[hole.id] + 1 if hole.id in on else None, "d"),
            Column("there", lambda hole: hole.position_mm - ends[on[hole.id]][0] if hole.id in on else None, ".2f"),
        ]
        said.append("there: from the reed end of its own piece, as the piece lies before you, its socket counted")
    if any(hole.tool for hole in holes):
        columns.append(Column("finished by", _tool, wraps=True))
        none = "not from the stock: made already where locked, else opened by hand to its diameter"
        said.append(f"finished by: what of the stock gives the diameter at the bore; none: {none}")
    if any(hole.pad and hole.pad.in_stock for hole in holes):
        made = [hole.id for hole in holes if hole.pad and not hole.pad.in_stock]
        said.append(f"pads are of the stock, but for {', '.join(made)}" if made else "pads are of the stock")
    return tabled("Holes", columns, holes, "mm and degrees, from the bell up", said)


def _own_ends(pieces: Sequence[PieceRecord]) -> list[tuple[float, list[str]]]:
    """Of each piece its reed end, half a joint above where it meets the one before, and its holes."""
    above = [0.0, *(0.5 * piece.joint.length_mm if piece.joint else 0.0 for piece in pieces)]
    return [(piece.from_mm - half, piece.holes) for piece, half in zip(pieces, above, strict=False)]


def _tool(hole: HoleRecord) -> str | None:
    """What of the stock finishes a hole."""
    if hole.tool is None:
        return None
    off = hole.tool.tolerance_mm
    return hole.tool.called + (f" +-{off:g}" if off else "")


def _diameter(hole: HoleRecord) -> str | float:
    """At the bore, and at the top where that is another."""
    bottom, top = hole.diameter_mm, hole.top_diameter_mm
    return bottom if top == bottom else f"{bottom:.2f} to {top:.2f}"


@dataclass(frozen=True)
class _Pad:
    """A row of the keys' table: a pad of a key, its lever where the file has it, and whether it is the key's first."""

    key: KeyRecord
    hole: str
    lever: LeverRecord | None
    first: bool


def keys_table(keys: Sequence[KeyRecord]) -> Table:
    """Touch, pads, levers, axle and posts of every key, one row for each pad."""
    columns: list[Column[_Pad]] = [
        Column("key", lambda pad: pad.key.id if pad.first else ""),
        Column("by", lambda pad: (", ".join(pad.key.moved_by) or pad.key.touch) if pad.first else ""),
        Column("touch at", lambda pad: pad.key.touch_position_mm if pad.first else "", ".2f"),
        Column("azimuth", lambda pad: pad.key.touch_azimuth_deg if pad.first else "", "z.0f"),
        Column("does", lambda pad: "opens" if pad.hole in pad.key.opens else "closes"),
        Column("pad", lambda pad: pad.hole),
        Column("lever", lambda pad: pad.lever.length_mm if pad.lever else None, ".1f"),
        Column("rod", lambda pad: _axle(pad, lambda axle: axle.length_mm), ".1f"),
        Column("at", lambda pad: _axle(pad, lambda axle: axle.azimuth_deg), "z.0f", heading="rod at"),
        Column("high", lambda pad: _axle(pad, lambda axle: axle.height_mm), ".1f"),
        Column("over", lambda pad: _axle(pad, lambda axle: ", ".join(axle.passes_over) or None), wraps=True),
        Column("posts at", lambda pad: _axle(pad, _posts), wraps=True),
        Column("stiffness", lambda pad: pad.lever.stiffness_n_per_mm if pad.lever else None, ".1f", heading="N/mm"),
        Column("lost", lambda pad: pad.lever.lost_motion_mm if pad.lever else None, ".2f"),
        Column("of", lambda pad: pad.lever.lost_motion_max_mm if pad.lever else None, ".2f"),
    ]
    said = [
        "rod: length of the rod or hinge tube between its end posts; rod at: its azimuth; high: its middle above the "
        "body, raised over the cups it passes over; N/mm: stiffness at the touch; lost: what twist, bending and play "
        "take of a pad's opening, of at most so much"
    ]
    bare = [key.id for key in keys if key.axle is None]
    if bare:
        said.append(
            f"without a rod: {', '.join(bare)}; a link rides on what moves it, a plate's hinge is yours to draw"
        )
    return tabled("Keys", columns, [pad for key in keys for pad in _pads(key)], "mm and degrees", said)


def _pads(key: KeyRecord) -> list[_Pad]:
    levers = {lever.hole: lever for lever in key.levers}
    return [_Pad(key, hole, levers.get(hole), number == 0) for number, hole in enumerate([*key.opens, *key.closes])]


def _axle(pad: _Pad, value: Callable[[AxleRecord], str | float | None]) -> str | float | None:
    """A value of the key's axle, once for each key; none where it has no axle."""
    if not pad.first:
        return ""
    return None if pad.key.axle is None else value(pad.key.axle)


def _posts(axle: AxleRecord) -> str:
    return ", ".join(f"{post.position_mm:.0f}" for post in axle.posts)


def made_words(record: LayoutRecord) -> str:
    """What an instrument that is made does not keep."""
    broken = sum(margin < 0.0 for margin in record.margins_mm.values())
    parts = [f"breaks {counted(broken, 'limit')}, by up to {record.violation_mm:.2f} mm"] if broken else []
    parts += [f"{counted(record.wrong_notes, 'note')} not as wanted"] if record.wrong_notes else []
    return f"as it is made; {', '.join(parts)}, see below"
