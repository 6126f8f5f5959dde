"""How a layout's notes move with the blowing, over a range of reeds: the file that `blow` writes."""

from typing import Literal

from optimizer.records.files import SCHEMA_VERSION, Record

How = Literal["soft", "middle", "loud"]


class ReedMeant(Record):
    """One reed: how strongly it drives this bore; its slit at rest [mm2], and what pressure shuts it [kPa].

    closing_kpa is null where strengths were meant alone; slit_mm2 is then that of a reed that 5 kPa shut.
    """

    strength: float
    slit_mm2: float
    closing_kpa: float | None


class BlownHow(Record):
    """A note at one blowing, from the least to the greatest over the reeds.

    pressure_low, pressure_high : in the mouth, over the pressure that shuts the reed; null where no reed starts
    cents_low, cents_high : over the soft limit, of reeds whose tone keeps itself up; null where none does
    steady : reeds whose tone keeps itself up; unsteady : reeds with a tone from which another takes over
    """

    how: How
    pressure_low: float | None
    pressure_high: float | None
    cents_low: float | None
    cents_high: float | None
    steady: int
    unsteady: int


class BlownNote(Record):
    """A note: its soft limit, where it starts, and what blowing makes of it.

    resonance_hz : the soft limit; cents : against the note's target
    starts : reeds that start it by themselves; starts_low, starts_high : at which pressure, over the one that shuts the
        reed; null for none
    starts_kpa_low, starts_kpa_high : the same pressure; null for none, and where only strengths were meant
    """

    written: str
    sounding: str
    register_number: int
    alternate: bool
    touches: str
    target_hz: float
    resonance_hz: float
    cents: float
    starts: int
    starts_low: float | None
    starts_high: float | None
    starts_kpa_low: float | None
    starts_kpa_high: float | None
    blown: list[BlownHow]


class BlowingRecord(Record):
    """Notes of a layout, blown.

    reed_resonance_hz : of the layout's reed, which then follows with that inertia; null: it follows at once
    ways : how soft, middle and loud lie between where a note starts and where the reed shuts
    most_partials, highest_hz : what is balanced at the most
    silent : notes of the layout that sound nothing near their target, and are left out
    """

    schema_name: Literal["holewright-blowing"] = "holewright-blowing"
    schema_version: str = SCHEMA_VERSION
    instrument: str
    layout: str
    reeds: list[ReedMeant]
    reed_resonance_hz: float | None
    ways: dict[str, float]
    most_partials: int
    highest_hz: float
    notes: list[BlownNote]
    silent: list[str]
