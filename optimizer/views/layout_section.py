"""One layout as a section of a page: body drawn, notes, what to settle, pieces, reach, limits, holes, keys."""

from collections.abc import Sequence
from dataclasses import dataclass

from optimizer import cautions
from optimizer.analysis.hand_fit import reached_touches
from optimizer.records.layout import LayoutRecord
from optimizer.records.layout_ids import PRESENT
from optimizer.records.sound import SoundRecord
from optimizer.records.tolerance import BoreTolerance
from optimizer.views import objectives
from optimizer.views.body_words import mass_words, seen_words
from optimizer.views.by_hand_words import by_hand_words
from optimizer.views.drawings.body import body_drawing
from optimizer.views.drawings.canvas import Canvas
from optimizer.views.drawings.folded import folded_drawing
from optimizer.views.drawings.notes import Line, Mark, tuning_chart
from optimizer.views.drawings.reach_bars import reach_drawing
from optimizer.views.html import rendered
from optimizer.views.layout_tables import bore_table, holes_table, keys_table, made_words, notes_table
from optimizer.views.limit_tables import binding_lines, clearances_table, reach_table, touches_table
from optimizer.views.piece_tables import body_tables
from optimizer.views.player import Player, player_of
from optimizer.views.settling import settling_lines
from optimizer.views.solid import Solid, solid_of
from optimizer.views.table import Cell, Table
from optimizer.views.tolerance_tables import bore_tolerance_table
from optimizer.words import counted


@dataclass(frozen=True)
class Section:
    """What the section holds; why: as what the layout is shown, in a few words."""

    id: str
    why: str
    state: Cell
    sizes: str
    heavy: Sequence[str]
    body: Canvas
    said_of_body: str
    folded: Canvas | None
    solid: Solid
    player: Player | None
    tables_of_body: Sequence[Table]
    reach: Table | None
    tuning: Canvas
    to_settle: Sequence[str]
    notes: Table
    reaching: Canvas | None
    clearances: Table
    binds: Sequence[str]
    warnings: Sequence[str]
    tables: Sequence[Table]


def layout_section(
    record: LayoutRecord, why: str = "", sound: SoundRecord | None = None, bore: Sequence[BoreTolerance] = ()
) -> str:
    """The section as HTML."""
    return rendered("layout.html", layout=section(record, why, sound, bore))


def section(
    record: LayoutRecord, why: str = "", sound: SoundRecord | None = None, bore: Sequence[BoreTolerance] = ()
) -> Section:
    """The section, for a page to lay out; with its notes to be heard, and what errors of its bore do, where these are
    told."""
    return Section(
        id=record.id,
        why=why,
        state=_state(record),
        sizes=_sizes(record),
        heavy=cautions.of_weight(record.mass.mass_g, cautions.for_adult(record.cautions)) if record.mass else [],
        body=body_drawing(record),
        said_of_body=_said_of_body(record),
        folded=folded_drawing(record),
        solid=solid_of(record),
        player=player_of(sound),
        tables_of_body=body_tables(record),
        reach=reach_table(record.reach) if record.reach else None,
        tuning=tuning_chart(_lines(record), f"cents of each note of layout {record.id}"),
        to_settle=settling_lines(record.to_settle),
        notes=notes_table(record.notes, record.warnings, record.holes, record.doubt),
        reaching=reach_drawing(record.reach) if record.reach else None,
        clearances=clearances_table(record.margins_mm),
        binds=binding_lines(record),
        warnings=record.warnings,
        tables=[
            bore_table(record.bore),
            *([bore_tolerance_table(bore)] if bore else []),
            holes_table(record.holes, record.pieces),
            *([keys_table(record.keys)] if record.keys else []),
            *([touches_table(touches)] if (touches := reached_touches(record)) else []),
        ],
    )


def _state(record: LayoutRecord) -> Cell:
    if record.feasible:
        left = f"; {counted(len(record.to_settle), 'thing')} still to settle" if record.to_settle else ""
        return Cell(f"Meets every limit that is checked; every note sounds as wanted{left}.", "good")
    if record.id == PRESENT:
        return Cell(f"{made_words(record).capitalize()}.", "warn")
    wrong = f"{counted(record.wrong_notes, 'note')} not as wanted; " if record.wrong_notes else ""
    return Cell(f"NOT feasible: {wrong}largest violation of a limit {record.violation_mm:.2f} mm.", "bad")


def _sizes(record: LayoutRecord) -> str:
    weighs = mass_words(record)
    figures = objectives.in_words(objectives.figures(objectives.of_one(record.objectives), ", "))
    step = objectives.step_words(record)
    where = f" {step[0].upper()}{step[1:]}." if step else ""
    hand = by_hand_words(record)
    begun = f"{hand[0].upper()}{hand[1:]}. " if hand else ""
    return f"{begun}{figures}.{where} Reed volume {record.reed.volume_cm3:.4f} cm3." + (
        f" {weighs[0].upper()}{weighs[1:]}." if weighs else ""
    )


def _said_of_body(record: LayoutRecord) -> str:
    said = f"{seen_words(record)}. To scale, mm. Above: holes; below: fingers"
    said += ", and touches with the keys they press; thin lines along the body: rods" if record.keys else ""
    said += "; boxes: zones kept clear for what is fastened to the body" if record.fittings else ""
    return f"{said}. Dashed: behind. The crook is drawn straight."


def _lines(record: LayoutRecord) -> list[Line]:
    return [
        Line(note.written, note.register_number, note.alternate, [Mark("A", note.cents, note.sd_cents)])
        for note in record.notes
    ]
