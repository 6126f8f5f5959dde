"""One layout as a file: holes, keys, notes, margins, what binds.

Lengths are millimetres, angles degrees, pitch cents; numbers are numbers.
"""

from typing import Annotated, Literal, Self

import numpy as np
from pydantic import Field, model_validator

from optimizer.project.bends import Bend
from optimizer.project.bore import BoreSection
from optimizer.project.learned import Learned
from optimizer.project.model import AirState, Finger, Project
from optimizer.project.uncertainty import Uncertainty
from optimizer.records.files import SCHEMA_VERSION, Beside, Record
from optimizer.records.fittings import FittingRecord
from optimizer.records.frame import Frame, Units
from optimizer.records.keys import KeyRecord
from optimizer.records.mass import MassRecord
from optimizer.records.older import figures_now
from optimizer.records.parentage import Parentage
from optimizer.records.pieces import PieceRecord, PrintingRecord
from optimizer.records.rows import RowRecord
from optimizer.records.shares import Share
from optimizer.records.steps import unevenness
from optimizer.records.stock import ToolRecord
from optimizer.records.verdict import violation_mm, wrong_notes


class Reference(Record):
    """What the predictions refer to."""

    a4_hz: float
    temperament: str
    transposition_semitones: int
    air: AirState
    uncertainty: Uncertainty
    uncertainty_from_tolerance: Annotated[
        tuple[str, ...],
        Field(description="deviations that are half of the printer's tolerance, as the project states none"),
    ] = ()
    uncertainty_from_printer: Annotated[
        tuple[str, ...], Field(description="deviations that the printer's coupon told, as the project states none")
    ] = ()
    register_ratio_min: float
    learned: Annotated[
        Learned | None, Field(description="what a measured instrument taught, which its notes are worked out by")
    ] = None


class BoreTable(Record):
    """Bore: straight lines between points [position, diameter]; the last point is the bell end. staple_end_mm: 0 where
    no staple is told apart; crook_wall_mm: of the crook's tube, older files lack it; shaped_by: the numbers of the
    project's bore that gave it these points, by their names; bends: where a folded body turns back."""

    interpolation: Literal["linear"] = "linear"
    points_mm: list[tuple[float, float]]
    wall_mm: float
    crook_end_mm: float
    staple_end_mm: float = 0.0
    crook_wall_mm: float | None = None
    shaped_by: dict[str, float] = Field(default_factory=dict)
    bends: list[Bend] = Field(default_factory=list)

    def body_diameter_mm(self, position_mm: float) -> float:
        """How thick the body is at a place along it [mm]."""
        places, widths = np.array(self.points_mm).T
        return float(np.interp(position_mm, places, widths)) + 2.0 * self.wall_mm


class Seat(Record):
    """Flat around a hole, which a pad closes on; top_mm: how far it is raised above the body's crown, below 0 sunk into
    the wall: what the chimney is higher than the wall. Older files lack that."""

    outer_diameter_mm: float
    rim_width_mm: float
    top_mm: float | None = None


class PadRecord(Record):
    """Pad over a hole: disk, cup, how far it stands off when open; when closed, how far its face stands above the rim
    (below 0 it bulges in), which share of the sound it absorbs, and whether the stock has it."""

    diameter_mm: float
    cup_diameter_mm: float
    opening_mm: float
    recess_mm: float = 0.0
    absorption: float = 0.0
    in_stock: bool = False


class HoleRecord(Record):
    """One hole. diameter_mm is at the bore end, top_diameter_mm at the chimney top; straight in between.

    seat: without one the hole is drilled into the round body. lattice_cutoff_hz: above it sound passes the row of open
    holes around this one; null outside that row. tool: what of the stock gives it its diameter; null where none does.
    """

    id: str
    role: Literal["tone", "vent"]
    by: Finger | Literal["key"]
    cover: Literal["finger", "plate", "key"]
    rest: Literal["open", "closed"]
    position_mm: float
    azimuth_deg: float
    tilt_deg: float = 0.0
    diameter_mm: Annotated[float, Field(gt=0)]
    top_diameter_mm: Annotated[float, Field(gt=0)]
    bore_diameter_mm: Annotated[float, Field(gt=0)]
    chimney_mm: Annotated[float, Field(gt=0)]
    body_diameter_mm: float
    touch_position_mm: float | None
    seat: Seat | None
    pad: PadRecord | None
    lattice_cutoff_hz: float | None
    locked: bool
    tool: ToolRecord | None = None


class NoteRecord(Record):
    """One chart line with its prediction from the real resonances.

    written, sounding: names as the project writes them; written_midi, sounding_midi: their key numbers, 60 for C4;
    older files lack these. status: `ok`; `weak` when the resonance below stands higher than the project allows;
    `other register` when the resonance nearest the target is not the wanted one; `silent` when no resonance lies within
    150 cents. Ratios compare the height of its impedance peak with the next ones; vent_moves_cents is how far the open
    vents move the first resonance; sd_cents is one standard deviation of the prediction, making_sd_cents the part of it
    that printing and drilling bring; register_ratio is the fingering's second resonance over its first, of a higher
    register with the vents shut: near 2 in a cone, near 3 in a cylinder; older files lack it.
    """

    written: str
    sounding: str
    written_midi: int | None = None
    sounding_midi: int | None = None
    register_number: Annotated[int, Field(ge=1)]
    alternate: bool
    touches: str
    openness: list[float]
    weight: float
    target_hz: float
    status: Literal["ok", "weak", "other register", "silent"]
    frequency_hz: float | None
    cents: float | None
    resonance_number: int | None
    quality: float | None
    height_over_lower: float | None
    height_over_upper: float | None
    vent_moves_cents: float | None
    sd_cents: float | None
    making_sd_cents: float | None = None
    register_ratio: float | None = None


class ReachRecord(Record):
    """Distance of two fingers against the hand's limits; sd_mm is one standard deviation of the working limit, basis
    what the limits rest on. Older files lack the last three."""

    pair: str
    spacing_mm: float
    comfortable_mm: float
    working_mm: float
    maximum_mm: float | None = None
    sd_mm: float | None = None
    basis: str = ""


class Binding(Record):
    """A constraint or range at its limit, with what it says."""

    name: str
    margin_mm: float
    sentence: str


class ReedRecord(Record):
    """Reed and cavity of a layout."""

    volume_cm3: float
    cavity_diameter_mm: float | None
    compliance_cm3: float
    resonance_hz: float | None
    damping: float


class LayoutRecord(Record):
    """One finished layout for the CAD stage. doubt: what the main notes' sd_cents are made of, older files lack it;
    to_settle: what limits do not see of pads, rods and posts, and holes where water runs, a sentence each; parentage:
    of a layout that was changed by hand, null of all others."""

    schema_name: Literal["holewright-layout"] = "holewright-layout"
    schema_version: str = SCHEMA_VERSION
    id: str
    instrument: str
    units: Units = Units()
    frame: Frame = Frame()
    reference: Reference
    reed: ReedRecord
    bore: BoreTable
    holes: list[HoleRecord]
    keys: list[KeyRecord]
    rows: list[RowRecord] = Field(default_factory=list)
    fittings: list[FittingRecord] = Field(default_factory=list)
    pieces: list[PieceRecord] = Field(default_factory=list)
    printing: PrintingRecord | None = None
    mass: MassRecord | None = None
    notes: list[NoteRecord]
    doubt: list[Share] = Field(default_factory=list)
    reach: list[ReachRecord]
    objectives: dict[str, float]
    feasible: bool
    margins_mm: dict[str, float]
    binds: list[Binding]
    warnings: list[str]
    to_settle: list[str] = Field(default_factory=list)
    cautions: list[str]
    provenance: dict[str, str | int | float]
    parentage: Parentage | None = None

    @model_validator(mode="after")
    def _is_an_instrument(self) -> Self:
        places = [position for position, _ in self.bore.points_mm]
        if len(places) < 2 or places != sorted(places) or places[0] == places[-1]:
            raise ValueError("the bore's points make no bore: there must be two at least, in their order")
        if min(diameter for _, diameter in self.bore.points_mm) <= 0 or self.reference.a4_hz <= 0:
            raise ValueError("diameters of the bore and the pitch of A4 must be more than 0")
        if "tuning" not in self.objectives:
            raise ValueError("its objectives say nothing of tuning")
        return self

    @model_validator(mode="after")
    def _each_note_says_of_every_hole(self) -> Self:
        for note in self.notes:
            if len(note.openness) != len(self.holes):
                said = f"{len(note.openness)} of {len(self.holes)} holes"
                raise ValueError(f"openness of note {note.written} speaks of {said}")
        return self

    def brought_up(self, beside: Beside) -> Self:
        """Its unevenness worked out from its holes and notes, in place of an evenness that was another figure."""
        figures = figures_now(self.objectives) | {"unevenness": unevenness(self.holes, self.notes)}
        return self.model_copy(update={"objectives": figures, "schema_version": SCHEMA_VERSION})

    @property
    def violation_mm(self) -> float:
        """Largest violation of a limit [mm], 0 when all hold."""
        return violation_mm(self.margins_mm)

    @property
    def wrong_notes(self) -> int:
        """How many notes do not sound as wanted."""
        return wrong_notes(self.notes)


def saved_numbers(record: LayoutRecord, project: Project) -> dict[str, list[float] | float]:
    """Numbers of a record by their names in `layout.STEP`; joints that the record does without are left out."""
    holes = record.holes
    offset = [0.0 if hole.touch_position_mm is None else hole.touch_position_mm - hole.position_mm for hole in holes]
    return {
        "position_mm": [hole.position_mm for hole in holes],
        "diameter_mm": [hole.diameter_mm for hole in holes],
        "chimney_mm": [hole.chimney_mm for hole in holes],
        "touch_offset_mm": offset,
        "end_mm": record.bore.points_mm[-1][0],
        "reed_volume_cm3": record.reed.volume_cm3,
        "bore_scale": 1.0 if project.bore.shaped_by else _scale(record.bore, project.bore),
        **record.bore.shaped_by,
        "row_mm": [row.position_mm for row in record.rows],
        "joint_mm": [piece.to_mm for piece in record.pieces[:-1]],
    }


def _scale(made: BoreTable, bore: BoreSection) -> float:
    """How wide a bore is against the project's points."""
    return float(np.round(made.points_mm[0][1] / bore.points_mm[0][1], 6))
