"""Predictions by real resonances: what every note of a saved layout will sound, and in which register.

Works from the record alone, so that a layout means the same on any machine.
"""

from typing import NamedTuple

import jax.numpy as jnp
import numpy as np

from acoustics.network import Duct
from acoustics.pitch import cents_between
from acoustics.resonances import Spectrum, spectrum
from optimizer.layout import Layout
from optimizer.project import AirState, BoreSection, ReedSection
from optimizer.records import BoreTable, HoleRecord, LayoutRecord, NoteRecord
from optimizer.sounding import Fittings, climate_of, make_duct

SILENT_CENTS = 150.0
"""A target with no resonance this near is silent."""

SCAN_STEP_CENTS = 30.0
SCAN_TOP_HZ = 2000.0


class Sounding(NamedTuple):
    """What a fingering sounds near a target; see `NoteRecord`. Numbers are None when silent."""

    status: str
    frequency_hz: float | None = None
    cents: float | None = None
    resonance_number: int | None = None
    quality: float | None = None
    height_over_lower: float | None = None
    height_over_upper: float | None = None


def saved_duct(bore: BoreTable, holes: list[HoleRecord], reed: ReedSection, air: AirState) -> Duct:
    """The duct of saved geometry."""
    column = {
        name: jnp.array([getattr(hole, name) for hole in holes], float)
        for name in ("position_mm", "diameter_mm", "chimney_mm")
    }
    layout = Layout(
        **column,
        touch_offset_mm=jnp.zeros(len(holes)),
        end_mm=jnp.asarray(bore.points_mm[-1][0]),
        reed_volume_cm3=jnp.asarray(reed.volume_cm3[0]),
    )
    fitting = Fittings(
        jnp.array([hole.azimuth_deg for hole in holes]),
        jnp.array([hole.top_diameter_mm / hole.diameter_mm for hole in holes]),
        jnp.array([hole.seat.rim_width_mm if hole.seat else bore.wall_mm for hole in holes]),
        jnp.array([hole.pad.diameter_mm if hole.pad else 0.0 for hole in holes]),
        jnp.array([hole.pad.opening_mm if hole.pad else 0.0 for hole in holes]),
    )
    section = BoreSection(points_mm=bore.points_mm, wall_mm=bore.wall_mm, crook_end_mm=bore.crook_end_mm)
    return make_duct(layout, fitting, section, reed, climate_of(air))


def record_duct(record: LayoutRecord, air: AirState | None = None) -> Duct:
    """The duct of a saved layout, in its own air or another."""
    return saved_duct(record.bore, record.holes, record.reed, air or record.reference.air)


def soundings(duct: Duct, openness: np.ndarray, register: np.ndarray, target: np.ndarray) -> list[Sounding]:
    """What each fingering sounds: openness (N, H), wanted resonance (N,), target (N,) [Hz]."""
    top = max(SCAN_TOP_HZ, 1.2 * float(target.max()))
    spectra = spectrum(duct, openness, 0.35 * float(target.min()), top, SCAN_STEP_CENTS)
    return [
        _nearest(found, int(number), float(wanted))
        for found, number, wanted in zip(spectra, register, target, strict=True)
    ]


def _nearest(found: Spectrum, register: int, target: float) -> Sounding:
    if found.frequency.size == 0:
        return Sounding("silent")
    index = int(np.argmin(np.abs(np.log(found.frequency / target))))
    cents = cents_between(float(found.frequency[index]), target)
    if abs(cents) > SILENT_CENTS:
        return Sounding("silent")
    height = found.height
    return Sounding(
        "ok" if index + 1 == register else "other register",
        float(found.frequency[index]),
        cents,
        index + 1,
        float(found.quality[index]),
        float(height[index] / height[index - 1]) if index > 0 else None,
        float(height[index] / height[index + 1]) if index + 1 < height.size else None,
    )


def predict(record: LayoutRecord, air: AirState | None = None, pitch_ratio: float = 1.0) -> list[NoteRecord]:
    """The notes of a saved layout in other air, or against targets scaled by pitch_ratio."""
    openness = np.array([note.openness for note in record.notes])
    register = np.array([note.register_number for note in record.notes])
    target = np.array([note.target_hz for note in record.notes]) * pitch_ratio
    heard = soundings(record_duct(record, air), openness, register, target)
    return [
        note.model_copy(update={"target_hz": float(goal), **sound._asdict()})
        for note, goal, sound in zip(record.notes, target, heard, strict=True)
    ]
