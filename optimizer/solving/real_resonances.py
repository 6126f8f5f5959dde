"""Predictions by real resonances: what every note of a saved layout will sound, and in which register.

Works from the record alone, so that a layout means the same on any machine.
"""

from typing import NamedTuple

import numpy as np

from acoustics.arrays import Array, Floats
from acoustics.network import Duct
from acoustics.pitch import cents_between
from acoustics.resonances import CENTS_PER_OCTAVE, Spectrum, lowest_hz, spectrum
from optimizer.geometry.bore_shape import BoreShape
from optimizer.geometry.build import Build, build_of
from optimizer.geometry.deviations import as_learned
from optimizer.geometry.duct import Fittings, climate_of, make_duct
from optimizer.geometry.layout import Layout
from optimizer.project.bore import BoreSection
from optimizer.project.learned import Learned
from optimizer.project.model import AirState
from optimizer.project.objectives import SILENT_CENTS
from optimizer.records.layout import BoreTable, HoleRecord, LayoutRecord, NoteRecord, ReedRecord, Reference
from optimizer.records.shares import Share
from optimizer.solving.uncertainty import Spread, note_spread, variance_shares

SCAN_STEP_CENTS = 30.0
SCAN_TOP_HZ = 2000.0
ALL_LOW_HZ, ALL_TOP_HZ = 20.0, 4000.0


class Sounding(NamedTuple):
    """What a fingering sounds near a target; see `NoteRecord`. Numbers are None when silent."""

    status: str
    frequency_hz: float | None = None
    cents: float | None = None
    resonance_number: int | None = None
    quality: float | None = None
    height_over_lower: float | None = None
    height_over_upper: float | None = None
    vent_moves_cents: float | None = None
    sd_cents: float | None = None
    making_sd_cents: float | None = None
    register_ratio: float | None = None

    def known_by(self, off: float, sd: float, making: float) -> "Sounding":
        """The same so much higher [cents], as the formulas are known to be off, with its deviations [cents]."""
        if self.cents is None or self.frequency_hz is None:
            return self
        hz = self.frequency_hz * 2.0 ** (off / CENTS_PER_OCTAVE)
        return self._replace(frequency_hz=hz, cents=self.cents + off, sd_cents=sd, making_sd_cents=making)


class Fingerings(NamedTuple):
    """What is asked of a duct: openness (N, H), wanted resonance (N,), target (N,) [Hz]; which holes are vents (H,)."""

    openness: Floats
    register: Floats
    target: Floats
    vents: Floats


def saved_duct(
    bore: BoreTable, holes: list[HoleRecord], reed: ReedRecord, air: AirState, learned: Learned | None = None
) -> Duct:
    """The duct of saved geometry, as it will come out by what a measured instrument taught."""
    column: dict[str, Array] = {
        name: np.array([getattr(hole, name) for hole in holes], float)
        for name in ("position_mm", "diameter_mm", "chimney_mm")
    }
    layout = Layout(
        column["position_mm"],
        column["diameter_mm"],
        column["chimney_mm"],
        touch_offset_mm=np.zeros(len(holes)),
        end_mm=np.asarray(bore.points_mm[-1][0]),
        reed_volume_cm3=np.asarray(reed.volume_cm3),
    )
    fitting = Fittings(
        np.array([hole.azimuth_deg for hole in holes]),
        np.array([hole.top_diameter_mm / hole.diameter_mm for hole in holes]),
        np.array([hole.seat.rim_width_mm if hole.seat else 0.0 for hole in holes]),
        np.array([hole.pad.diameter_mm if hole.pad else 0.0 for hole in holes]),
        np.array([hole.pad.opening_mm if hole.pad else 0.0 for hole in holes]),
        np.array([hole.pad.recess_mm if hole.pad else 0.0 for hole in holes]),
        np.array([hole.pad.absorption if hole.pad else 0.0 for hole in holes]),
    )
    build = build_of(bore, [], holes)
    ends = () if learned is None else build.ends_mm
    section = BoreSection(points_mm=bore.points_mm, wall_mm=bore.wall_mm, crook_end_mm=bore.crook_end_mm)
    drawn = make_duct(layout, fitting, BoreShape(section, ends), reed, climate_of(air), bore.bends)
    return as_learned(drawn, learned, build)


def record_duct(record: LayoutRecord, air: AirState | None = None) -> Duct:
    """The duct of a saved layout, in its own air or another."""
    return saved_duct(record.bore, record.holes, record.reed, air or record.reference.air, record.reference.learned)


def record_build(record: LayoutRecord) -> Build:
    """How a saved layout is put together."""
    return build_of(record.bore, record.pieces, record.holes)


def soundings(duct: Duct, asked: Fingerings, judged: Reference, build: Build) -> tuple[list[Sounding], Spread]:
    """What each fingering (N,) sounds, by its real resonances, with its uncertainty, and what this is made of.

    Parameters
    ----------
    duct : one (SI)
    asked : fingerings (N, H), registers and targets (N,)
    judged : what the notes are judged by
    build : how it is put together
    """
    heard = sounded(duct, asked, judged)
    frequency = np.array([sound.frequency_hz or goal for sound, goal in zip(heard, asked.target, strict=True)])
    quality = np.array([sound.quality or np.inf for sound in heard])
    spread = note_spread(duct, asked.openness, frequency, quality, judged.uncertainty, build, judged.learned)
    sounds = [
        sound.known_by(float(off), float(sd), float(making))
        for sound, off, sd, making in zip(heard, spread.known, spread.total, spread.making, strict=True)
    ]
    return sounds, spread


def sounded(duct: Duct, asked: Fingerings, judged: Reference) -> list[Sounding]:
    """What each fingering (N,) sounds, by its real resonances, without its uncertainty, nor what was learned of notes.

    Parameters
    ----------
    duct : one (SI)
    asked : fingerings (N, H), registers and targets (N,)
    judged : what the notes are judged by
    """
    upper = np.flatnonzero(asked.register > 1)
    unvented = np.where(asked.vents, 0.0, asked.openness)[upper]
    low, top = lowest_hz(asked.target, asked.register), max(SCAN_TOP_HZ, 1.2 * float(asked.target.max()))
    near = np.append(asked.target, np.full(upper.size, low))
    spectra = spectrum(duct, np.concatenate([asked.openness, unvented]), low, top, SCAN_STEP_CENTS, near=near)
    plain = dict(zip(upper, spectra[len(asked.openness) :], strict=True))
    return [
        _nearest(found, int(number), float(wanted), judged.register_ratio_min, plain.get(line))
        for line, (found, number, wanted) in enumerate(zip(spectra, asked.register, asked.target, strict=False))
    ]


def _nearest(found: Spectrum, register: int, target: float, ratio_min: float, plain: Spectrum | None) -> Sounding:
    """The resonance nearest a target; plain is the spectrum with the vents shut."""
    if found.frequency.size == 0:
        return Sounding("silent")
    index = int(np.argmin(np.abs(np.log(found.frequency / target))))
    cents = cents_between(float(found.frequency[index]), target)
    if abs(cents) > SILENT_CENTS:
        return Sounding("silent")
    height, number = found.height, int(found.number[index])
    below = float(height[index] / height[index - 1]) if index > 0 else None
    weak = below is not None and below < ratio_min
    return Sounding(
        "other register" if number != register else "weak" if weak else "ok",
        float(found.frequency[index]),
        cents,
        number,
        float(found.quality[index]),
        below,
        float(height[index] / height[index + 1]) if index + 1 < height.size else None,
        _vent_moves(found, plain),
        register_ratio=_register_ratio(found if plain is None else plain),
    )


def _vent_moves(found: Spectrum, plain: Spectrum | None) -> float | None:
    """How far the open vents move the first resonance [cents]; None where it is not at hand."""
    if plain is None or plain.frequency.size == 0 or found.number[0] != 1 or plain.number[0] != 1:
        return None
    return cents_between(float(found.frequency[0]), float(plain.frequency[0]))


def _register_ratio(plain: Spectrum) -> float | None:
    """The second resonance of a fingering over its first; None where either is not at hand."""
    if plain.number.size < 2 or plain.number[0] != 1 or plain.number[1] != 2:
        return None
    return float(plain.frequency[1] / plain.frequency[0])


def predict(record: LayoutRecord, air: AirState | None = None, pitch_ratio: float = 1.0) -> list[NoteRecord]:
    """The notes of a saved layout in other air, or against other targets; see `predict_with_doubt`."""
    return predict_with_doubt(record, air, pitch_ratio)[0]


def predict_with_doubt(
    record: LayoutRecord, air: AirState | None = None, pitch_ratio: float = 1.0
) -> tuple[list[NoteRecord], list[Share]]:
    """The notes of a saved layout in other air, or against other targets, and what their doubt is made of.

    Parameters
    ----------
    record : the layout
    air : default its own
    pitch_ratio : what its targets are multiplied by
    """
    asked = Fingerings(
        np.array([note.openness for note in record.notes]),
        np.array([note.register_number for note in record.notes]),
        np.array([note.target_hz for note in record.notes]) * pitch_ratio,
        np.array([hole.role == "vent" for hole in record.holes]),
    )
    heard, spread = soundings(record_duct(record, air), asked, record.reference, record_build(record))
    notes = [
        note.model_copy(update={"target_hz": float(goal), **sound._asdict()})
        for note, goal, sound in zip(record.notes, asked.target, heard, strict=True)
    ]
    return notes, doubt_shares(notes, spread)


def doubt_shares(notes: list[NoteRecord], spread: Spread) -> list[Share]:
    """What the doubt of the main notes that sound is made of, in tenths of a percent.

    Parameters
    ----------
    notes : (N,)
    spread : theirs (N,)
    """
    main = [note.cents is not None and not note.alternate for note in notes]
    shares = variance_shares(spread.by_source[main], spread.sources)
    return [Share(name=share.name, percent=round(share.percent, 1)) for share in shares]


def all_resonances(record: LayoutRecord, notes: list[NoteRecord]) -> list[Spectrum]:
    """Every resonance up to `ALL_TOP_HZ` of the fingerings of some of a record's notes."""
    openness = np.array([note.openness for note in notes])
    return spectrum(record_duct(record), openness, ALL_LOW_HZ, ALL_TOP_HZ, SCAN_STEP_CENTS)
