"""A measured input impedance beside that of the duct without reed and player."""

from typing import Literal

from optimizer.records.files import SCHEMA_VERSION, Record


class ResonancePair(Record):
    """A resonance by its number among the computed ones: as computed and as measured, and how far the measured one is
    above it [cents]; null where one of them was not found."""

    number: int | None
    computed_hz: float | None
    measured_hz: float | None
    cents: float | None


class ImpedanceRecord(Record):
    """A measurement held against a layout.

    note : the fingering, by its written note; touches : what is pressed
    temperature_degC, humidity_percent : of the air, everywhere the same
    plane_mm : where it was measured, from the reed end
    median_cents : of all resonances; null without any
    frequency_hz, measured_deg, computed_deg : phases of the reflectance, thinned for a picture
    """

    schema_name: Literal["holewright-impedance"] = "holewright-impedance"
    schema_version: str = SCHEMA_VERSION
    instrument: str
    layout: str
    source: str
    note: str
    touches: str
    temperature_degC: float
    humidity_percent: float
    plane_mm: float
    resonances: list[ResonancePair]
    median_cents: float | None
    frequency_hz: list[float]
    measured_deg: list[float]
    computed_deg: list[float]
