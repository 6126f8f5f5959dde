"""A measured impedance against the duct without reed and player: resonance by resonance, in cents.

A resonance is where Im Y rises through zero, which is where the phase of the reflectance falls through zero. Heights
are left aside, as rigs err by decibels in them. Around the zero the frequency is fitted as a cubic of the phase, which
noise moves less than two neighbours. A reed and a player bring a note down, by more than a semitone high up on conical
reeds (Backus, J. Acoust. Soc. Am. 56, 1974): what is compared is the duct alone, in the air of the measurement.
"""

from typing import NamedTuple

import numpy as np

from acoustics.air import air
from acoustics.arrays import Complexes, Floats
from acoustics.network import Duct
from acoustics.resonances import spectrum
from acoustics.scan import input_impedances
from optimizer.project.body import bore_between
from optimizer.project.faults import Fault
from optimizer.project.model import AirState
from optimizer.prototype.impedance_file import REFLECTS_MOST, MeasuredImpedance
from optimizer.records.impedance import ImpedanceRecord, ResonancePair
from optimizer.records.layout import LayoutRecord, NoteRecord, ReedRecord
from optimizer.solving.real_resonances import saved_duct

NEAR_RAD = 0.8
"""Phases this near to zero are fitted."""
SAME_CENTS = 150.0
"""Resonances further apart are not the same one."""
CLOSE_CENTS = 25.0
"""Zeros closer than this are one resonance, crossed several times by noise."""
DRAWN_MOST = 800
"""Points of a curve that are kept for its picture."""


class Conditions(NamedTuple):
    """How it was measured: the note fingered, temperature [degC], humidity [%], plane from the reed end [mm]."""

    note: NoteRecord
    temperature_degC: float
    humidity_percent: float = 50.0
    plane_mm: float = 0.0


def resonances_of(f: Floats, reflectance: Complexes) -> Floats:
    """Frequencies (R,) [Hz] at which the phase of a reflectance falls through zero.

    Parameters
    ----------
    f : (F,) rising [Hz]
    reflectance : (F,)
    """
    phase = np.angle(reflectance)
    falls = np.flatnonzero((phase[:-1] > 0.0) & (phase[1:] <= 0.0) & (reflectance[:-1].real > 0.0))
    found: list[float] = []
    for at in falls:
        here = _around(phase, int(at))
        degree = min(3, here.stop - here.start - 1)
        found.append(float(f[at] + np.polyfit(phase[here], f[here] - f[at], degree)[-1]))
    kept: list[float] = []
    for place in found:
        if kept and 1200.0 * np.log2(place / kept[-1]) < CLOSE_CENTS:
            kept[-1] = 0.5 * (kept[-1] + place)
        else:
            kept.append(place)
    return np.array(kept)


def _around(phase: Floats, at: int) -> slice:
    """Where phases (F,) are near zero on both sides of the one that is crossed between `at` and the next."""
    first, last = at, at + 2
    while first > 0 and abs(phase[first - 1]) < NEAR_RAD:
        first -= 1
    while last < phase.size and abs(phase[last]) < NEAR_RAD:
        last += 1
    return slice(first, last)


def matched(record: LayoutRecord, measured: MeasuredImpedance, source: str, how: Conditions) -> ImpedanceRecord:
    """A measurement held against a layout.

    Parameters
    ----------
    record : the layout
    measured : the measurement
    source : what its file is called
    how : it was measured

    Raises
    ------
    Fault
        where the measurement cannot be one of a bore, or a hole before its plane is open
    """
    duct, openness = _duct(record, how)
    own = _characteristic(duct, how)
    z = measured.impedance / own if measured.absolute else measured.impedance
    f, seen = measured.frequency, (z - 1.0) / (z + 1.0)
    _look_over(seen)
    there = resonances_of(f, seen)
    computed = spectrum(duct, openness[None], float(f[0]), float(f[-1]), 12.0)[0].frequency
    kept = np.unique(np.linspace(0, f.size - 1, min(f.size, DRAWN_MOST)).astype(int))
    model = _computed(duct, openness, f[kept]) / own
    pairs = _pairs(computed, there)
    cents = [pair.cents for pair in pairs if pair.cents is not None]
    return ImpedanceRecord(
        instrument=record.instrument,
        layout=record.id,
        source=source,
        note=how.note.written,
        touches=how.note.touches,
        temperature_degC=how.temperature_degC,
        humidity_percent=how.humidity_percent,
        plane_mm=how.plane_mm,
        resonances=pairs,
        median_cents=round(float(np.median(cents)), 2) if cents else None,
        frequency_hz=[round(float(value), 4) for value in f[kept]],
        measured_deg=_degrees(seen[kept]),
        computed_deg=_degrees((model - 1.0) / (model + 1.0)),
    )


def computed_impedance(record: LayoutRecord, how: Conditions, f: Floats) -> tuple[Complexes, float]:
    """What a perfect rig would measure of a layout: (F,) at f [Hz], and rho c / S at the bore's entry [Pa s/m3].

    Raises
    ------
    Fault
        where a hole before the plane is open, or the plane lies beyond the bore
    """
    duct, openness = _duct(record, how)
    return _computed(duct, openness, f), _characteristic(duct, how)


def _computed(duct: Duct, openness: Floats, f: Floats) -> Complexes:
    return input_impedances(duct, np.repeat(openness[:, None], f.size, axis=1), f)[1]


def _characteristic(duct: Duct, how: Conditions) -> float:
    """rho c / S of the bore at its entry [Pa s/m3]."""
    gas = air(how.temperature_degC, how.humidity_percent / 100.0)
    return float(gas.rho * gas.c / (np.pi * duct.bore.radius[0] ** 2))


def _degrees(reflectance: Complexes) -> list[float]:
    return [round(float(value), 3) for value in np.degrees(np.angle(reflectance))]


def _duct(record: LayoutRecord, how: Conditions) -> tuple[Duct, np.ndarray]:
    """The duct beyond the plane, without a reed, in the air of the measurement; which of its holes (H,) are open."""
    plane, end = how.plane_mm, record.bore.points_mm[-1][0]
    if not 0.0 <= plane < end:
        raise Fault(f"plane_mm: must lie on the bore, from 0 to {end:g}, but got {plane:g}")
    both = list(zip(record.holes, how.note.openness, strict=True))
    early = [hole.id for hole, share in both if hole.position_mm <= plane and share > 0.0]
    if early:
        raise Fault(f"plane_mm: {early[0]} is open before {plane:g} mm; measure from the reed's side of it")
    turning = [bend.id for bend in record.bore.bends if bend.at_mm < plane < bend.end_mm]
    if turning:
        raise Fault(f"plane_mm: {plane:g} mm lies in bend {turning[0]}; measure from a straight tube")
    points = [(place - plane, wide) for place, wide in bore_between(record.bore.points_mm, plane, end)]
    bends = [bend.model_copy(update={"at_mm": bend.at_mm - plane}) for bend in record.bore.bends if bend.at_mm >= plane]
    cut = {"points_mm": points, "bends": bends, "crook_end_mm": 0.0, "staple_end_mm": 0.0}
    bore = record.bore.model_copy(update=cut)
    holes = [
        hole.model_copy(update={"position_mm": hole.position_mm - plane})
        for hole, _ in both
        if hole.position_mm > plane
    ]
    reed = ReedRecord(volume_cm3=0.0, cavity_diameter_mm=None, compliance_cm3=0.0, resonance_hz=None, damping=0.0)
    degrees = how.temperature_degC
    state = AirState(reed_degC=degrees, bell_degC=degrees, humidity_percent=how.humidity_percent)
    openness = np.array([share for hole, share in both if hole.position_mm > plane])
    return saved_duct(bore, holes, reed, state), openness


def _look_over(reflectance: Complexes) -> None:
    """Refuse what no bore reflects."""
    loud = float(np.quantile(np.abs(reflectance), 0.9))
    if not loud <= REFLECTS_MOST:
        raise Fault(
            f"it reflects {loud:.2f} of what comes in, and nothing reflects more than 1: is its unit right, and the "
            "sign of its real part?"
        )
    turns = np.diff(np.unwrap(np.angle(reflectance)))
    if np.sum(turns) > 0.0:
        raise Fault("its phase turns backward: it was written for e^{-j omega t}; change the imaginary part's sign")


def _pairs(computed: Floats, measured: Floats) -> list[ResonancePair]:
    """Computed and measured resonances, each with the one that is nearest to it and that it is nearest to."""
    cents = 1200.0 * np.log2(measured[None, :] / computed[:, None])
    near = {
        number: int(np.argmin(np.abs(row)))
        for number, row in enumerate(cents)
        if row.size and np.min(np.abs(row)) <= SAME_CENTS
    }
    near = {number: place for number, place in near.items() if np.argmin(np.abs(cents[:, place])) == number}
    heard = [round(float(f), 4) for f in measured]
    found = [
        ResonancePair(
            number=number + 1,
            computed_hz=round(float(f), 4),
            measured_hz=heard[near[number]] if number in near else None,
            cents=round(float(cents[number, near[number]]), 2) if number in near else None,
        )
        for number, f in enumerate(computed)
    ]
    alone = [f for place, f in enumerate(heard) if place not in near.values()]
    return [*found, *(ResonancePair(number=None, computed_hz=None, measured_hz=f, cents=None) for f in alone)]
