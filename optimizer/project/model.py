"""The project file as models: what the maker wrote, checked field by field.

Every key carries its unit in its name. A quantity that the search may choose is written `[low, high]`; a single number
fixes it. Unknown keys are refused. Defaults are rules of thumb, each stated with its standing; all can be overridden.
"""

import difflib
from typing import Annotated, Literal

from pydantic import Field, field_validator, model_validator

from acoustics.pitch import TEMPERAMENTS
from optimizer.project.allowed_ranges import A4_HZ, AIR_DEGC, MINUTES, SEED, TRIALS, WORKERS
from optimizer.project.bends import BENDS_MOST, Bend
from optimizer.project.body import BodySections
from optimizer.project.bore import BoreSection
from optimizer.project.fittings import Fitting
from optimizer.project.hand import Hand
from optimizer.project.keywork import Keywork
from optimizer.project.learned import Learned
from optimizer.project.note_names import NamesOfNotes
from optimizer.project.numbers import NotNegative, Number, Positive, Section, Span
from optimizer.project.objectives import Objectives
from optimizer.project.present import Present
from optimizer.project.printer import Printer
from optimizer.project.rows import Rows
from optimizer.project.stock import Stock
from optimizer.project.uncertainty import Uncertainty
from optimizer.project.venting import Venting

FINGERS = ("LT", "L1", "L2", "L3", "L4", "RT", "R1", "R2", "R3", "R4")
"""Thumb, index, middle, ring, little of each hand."""

Finger = Literal["LT", "L1", "L2", "L3", "L4", "RT", "R1", "R2", "R3", "R4"]


class Instrument(Section):
    """What it is, and how far it sounds from where it is written."""

    name: Annotated[str, Field(min_length=1, max_length=80)]
    transposition_semitones: Annotated[
        int,
        Field(strict=True, ge=-36, le=36, description="sounding minus written pitch; -7 sounds a fifth below written"),
    ]
    description: str = ""


class AirState(Section):
    """Air in the bore while it is played; temperature falls linearly from reed to bell, or as breath warms it."""

    reed_degC: Annotated[float, Field(strict=True, ge=AIR_DEGC.least, le=AIR_DEGC.most)]
    bell_degC: Annotated[float, Field(strict=True, ge=AIR_DEGC.least, le=AIR_DEGC.most)]
    humidity_percent: Annotated[float, Field(strict=True, ge=0, le=100)] = 0.0
    co2_percent: Annotated[float, Field(strict=True, ge=0, le=8.5)] = 0.04
    warming_length_mm: Annotated[
        Positive | None, Field(description="over which the breath's warmth falls by a factor e; default: linear fall")
    ] = None


class ReedSection(Section):
    """Reed and cavity as an equivalent volume, with optional compliance, resonance and damping."""

    volume_cm3: Annotated[Span, Field(description="cavity and reed as an air volume")]
    cavity_diameter_mm: Annotated[
        Positive | None, Field(description="the volume is a cylinder this wide; default: no length")
    ] = None
    compliance_cm3: NotNegative = 0.0
    resonance_hz: Positive | None = None
    damping: Annotated[NotNegative, Field(description="1/Q of the reed resonance")] = 0.0

    @model_validator(mode="after")
    def _volume_is_positive(self) -> "ReedSection":
        if self.volume_cm3[0] < 0:
            raise ValueError(f"volume_cm3: 0 <= low must hold, but got {self.volume_cm3[0]:g}")
        return self


class Hole(Section):
    """A tone hole or a vent. Holes are listed from the bell toward the reed; vents come last."""

    id: Annotated[str, Field(pattern=r"^[A-Za-z][A-Za-z0-9_]*$", max_length=16)]
    by: Annotated[Finger | Literal["key"], Field(description="the finger on it, or 'key'")]
    rest: Literal["open", "closed"] = "open"
    role: Literal["tone", "vent"] = "tone"
    cover: Annotated[
        Literal["finger", "plate", "either"],
        Field(description="bare finger, a plate the finger presses, or either, as the search chooses"),
    ] = "finger"
    position_mm: Span
    diameter_mm: Span
    chimney_mm: Span
    seat: Annotated[
        Literal["saddle", "raised", "sunk"] | None,
        Field(description="round body, or a flat above or in its wall; default: a flat under a pad, else the body"),
    ] = None
    azimuth_deg: Annotated[float, Field(strict=True, ge=-360, le=360)] = 0.0
    top_ratio: Annotated[
        float,
        Field(
            strict=True,
            ge=0.3,
            le=2.0,
            description="top over bore-end diameter; below 1 is undercut, wider at the bore",
        ),
    ] = 1.0
    on_water_line: Annotated[bool, Field(description="may lie where water runs along the bore")] = False
    finish: Annotated[
        Literal["drill", "reamer", "free", "tube"] | None, Field(description="what of the stock makes its bore end")
    ] = None
    locked: Annotated[bool, Field(description="already made: must have single numbers, and never moves")] = False
    pad_diameter_mm: Annotated[Positive | None, Field(description="of its pad; default: by [keywork] and [stock]")] = (
        None
    )
    pad_lift_mm: Annotated[
        Positive | None, Field(description="how far its open pad stands off; default: by [keywork]")
    ] = None

    @model_validator(mode="after")
    def _numbers_make_a_hole(self) -> "Hole":
        for name in ("position_mm", "diameter_mm", "chimney_mm"):
            low, high = getattr(self, name)
            if low < 0 or (name != "position_mm" and low <= 0):
                raise ValueError(
                    f"{name}: must be {'at least 0' if name == 'position_mm' else 'positive'}, but got {low:g}"
                )
            if self.locked and low != high:
                raise ValueError(f"{name}: a locked hole has one number, but got the range [{low:g}, {high:g}]")
        if self.by == "key" and self.cover != "finger":
            raise ValueError("cover: a plate sits under a finger; a hole worked by a key needs no cover")
        return self

    @property
    def padded(self) -> bool:
        """Whether a pad may close the hole, not a fingertip."""
        return self.by == "key" or self.cover != "finger"


class Key(Section):
    """A key: a touch that opens or closes holes, or a link moved by other touches."""

    id: Annotated[str, Field(pattern=r"^[A-Za-z][A-Za-z0-9_#]*$", max_length=16)]
    touch: Annotated[Finger, Field(description="the finger that works it, or that its link starts from")]
    opens: list[str] = []
    closes: list[str] = []
    moved_by: Annotated[list[str], Field(description="touches any of which moves it; default: its own touch")] = []
    together: Annotated[
        list[str], Field(description="keys, or its own finger, that the finger presses at the same time")
    ] = []
    touch_along_mm: Annotated[
        Number | None, Field(description="touch from where its finger rests, toward the bell; default: side by side")
    ] = None
    touch_across_mm: Annotated[
        Number | None, Field(description="the same round the body, clockwise seen from the reed end")
    ] = None
    axle_deg: Annotated[
        Number | None, Field(description="azimuth of its rod; default: beside its pad, where its posts have most room")
    ] = None
    axle_side: Annotated[
        Literal["clockwise", "counterclockwise"] | None,
        Field(description="side of its pad that the rod lies on, seen from the reed end; default: as for axle_deg"),
    ] = None
    lever_max_mm: Positive | None = None

    @property
    def pressed(self) -> bool:
        """Whether a finger presses it itself; a link is moved by other touches only."""
        return not self.moved_by or self.id in self.moved_by


class ChartSection(Section):
    """Fingering chart, one line a note: written note, register, touches or a pattern of x, o, h."""

    lines: str
    note_names: Annotated[
        NamesOfNotes, Field(description="C4, F#4, Bb3; or german: C4, Fis4, B3; or helmholtz: c', fis', b")
    ] = "english"
    order: Annotated[list[str], Field(description="holes that a pattern of x, o and h names, in its order")] = []
    half_open_percent: Annotated[float, Field(strict=True, gt=0, lt=100)] = 50.0
    alternate_weight: NotNegative = 0.2


class ScaleSection(Section):
    """Target scale. Weights and offsets are keyed by written note."""

    a4_hz: Annotated[float, Field(strict=True, ge=A4_HZ.least, le=A4_HZ.most)] = 440.0
    temperament: str = "equal"
    weight: dict[str, NotNegative] = {}
    offset_cents: dict[str, Annotated[float, Field(strict=True, ge=-100, le=100)]] = {}

    @field_validator("temperament")
    @classmethod
    def _temperament_is_known(cls, called: str) -> str:
        if called not in TEMPERAMENTS:
            known, close = ", ".join(TEMPERAMENTS), difflib.get_close_matches(called, TEMPERAMENTS, n=1)
            hint = f"; did you mean {close[0]!r}?" if close else ""
            raise ValueError(f"must be one of {known}, but got {called!r}{hint}")
        return called


class SearchSection(Section):
    """How long and how to search; the command line can override minutes, trials, workers and seed."""

    minutes: Annotated[float, Field(strict=True, gt=MINUTES.above, le=MINUTES.highest)] = 2.5
    trials: Annotated[int, Field(strict=True, ge=TRIALS.least, le=TRIALS.highest)] | None = None
    workers: Annotated[int, Field(strict=True, ge=WORKERS.least, le=WORKERS.highest)] | None = None
    seed: Annotated[int, Field(strict=True, ge=SEED.least, le=SEED.highest)] = 1
    register_ratio_min: Annotated[
        NotNegative, Field(description="a note of a higher register must stand so many times above the resonance below")
    ] = 1.0
    same_tuning_cents: Annotated[
        NotNegative,
        Field(
            le=20, description="below so many cents RMS tuning weighs nothing in a solve; the other objectives decide"
        ),
    ] = 1.0
    objectives: Objectives = Objectives.left_out()


class Project(Section):
    """A whole project file."""

    instrument: Instrument
    air: AirState
    reed: ReedSection
    bore: BoreSection
    bends: Annotated[list[Bend], Field(max_length=BENDS_MOST)] = []
    sections: BodySections | None = None
    printer: Annotated[Printer, Field(description="or the path of a printer file, from this file's folder")] = (
        Printer.left_out()
    )
    stock: Annotated[Stock | None, Field(description="or the path of a stock file, from this file's folder")] = None
    holes: Annotated[list[Hole], Field(min_length=1, max_length=60)]
    keys: list[Key] = []
    rows: Rows = Rows.left_out()
    fittings: Annotated[list[Fitting], Field(max_length=12)] = []
    chart: ChartSection
    scale: ScaleSection = ScaleSection.left_out()
    hand: Annotated[Hand, Field(description="or the path of a hand file, from this file's folder")] = Hand.left_out()
    keywork: Keywork = Keywork.left_out()
    venting: Venting = Venting.left_out()
    present: Present | None = None
    uncertainty: Uncertainty = Uncertainty.left_out()
    learned: Annotated[
        Learned | None, Field(description="what a measured instrument taught, or the path of a file of it")
    ] = None
    search: SearchSection = SearchSection.left_out()

    @property
    def made(self) -> bool:
        """Whether it is an instrument as it is made: what its limits say of it is told, and forbids nothing."""
        return self.present is not None and self.present.made

    @property
    def objective_names(self) -> tuple[str, ...]:
        """Names of the objectives that span the Pareto set."""
        few, most = self.sections.joints if self.sections else (0, 0)
        return self.search.objectives.names(
            {"plates": any(hole.cover == "either" for hole in self.holes), "joints": few < most}
        )

    @property
    def piece_max_mm(self) -> float:
        """Longest piece of the body, joints included [mm]: as stated, or what the printer holds."""
        stated = self.sections.piece_max_mm if self.sections else None
        return self.printer.piece_max_mm if stated is None else stated
