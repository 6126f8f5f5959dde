"""How far blowing moves a layout's notes from their soft limit: lowest and highest over the reeds that may be on it.

A maker knows neither what shuts a reed nor how wide it stands under the lip, so that several reeds stand for the range.
"""

from collections.abc import Callable, Sequence
from itertools import product
from math import sqrt
from typing import get_args

import numpy as np

from acoustics.arrays import Complexes, Floats
from acoustics.balance import Reeds
from acoustics.blown import HIGHEST_HZ, PARTIALS, Blown, blown
from acoustics.chain import chain_of
from acoustics.impedance_table import ImpedanceTable
from acoustics.network import Duct, air_at, as_arrays
from acoustics.resonances import CENTS_PER_OCTAVE, spectrum
from acoustics.scan import admittances
from acoustics.steadiness import WAY
from acoustics.valve import strength
from optimizer.project.faults import Fault
from optimizer.records.blowing import BlowingRecord, BlownHow, BlownNote, How, ReedMeant
from optimizer.records.layout import LayoutRecord, NoteRecord
from optimizer.solving.real_resonances import SCAN_STEP_CENTS, record_duct

WAYS = {"soft": 0.05, "middle": 0.2, "loud": 0.5}
STRENGTHS = {"cylinder": (0.2, 0.5), "cone": (0.5, 0.95)}
"""Of the reeds where none is told: single reeds on cylinders, as published for them (from memory); on cones as far as
the model of a reed without inertia is well posed, below 1 (Taillard, Kergomard & Laloe, Nonlinear Dyn. 62 (2010) 253,
from memory). Double reeds are often stronger."""
WIDENS = 1.5
"""A bore that ends wider than so many times its entry is a cone."""
USUAL_KPA = 5.0
"""What shuts the reed that a strength is told by (common practice, no source)."""
AT_ONCE = 8
"""Notes that are worked out together."""


def usual_reeds(record: LayoutRecord) -> list[ReedMeant]:
    """Three reeds from weak to strong, as usual for a bore like the layout's."""
    points = record.bore.points_mm
    low, high = STRENGTHS["cone" if points[-1][1] > WIDENS * points[0][1] else "cylinder"]
    per_mm2 = _strength(record_duct(record), 1.0, USUAL_KPA)
    return [
        ReedMeant(strength=each, slit_mm2=each / per_mm2, closing_kpa=None) for each in (low, sqrt(low * high), high)
    ]


def reeds_between(record: LayoutRecord, slit_mm2: Sequence[float], closing_kpa: Sequence[float]) -> list[ReedMeant]:
    """The reeds at the corners of two ranges, or of single numbers.

    Parameters
    ----------
    record : the layout they are on
    slit_mm2 : of the slit at rest under the lip [mm2]
    closing_kpa : pressures that shut them [kPa]
    """
    duct = record_duct(record)
    corners = product(sorted({min(slit_mm2), max(slit_mm2)}), sorted({min(closing_kpa), max(closing_kpa)}))
    return [
        ReedMeant(strength=_strength(duct, slit, closing), slit_mm2=slit, closing_kpa=closing)
        for slit, closing in corners
    ]


def _strength(duct: Duct, slit_mm2: float, closing_kpa: float) -> float:
    rho, entry = entry_of(duct)
    return float(strength(np.asarray(slit_mm2 * 1e-6), np.asarray(closing_kpa * 1e3), entry, rho))


def entry_of(duct: Duct) -> tuple[float, float]:
    """Density [kg/m3] of the air at the bore's entry, and rho c / S there [Pa s/m3].

    Parameters
    ----------
    duct : one
    """
    air = air_at(duct, np.zeros(1))
    rho = float(air.rho[0])
    return rho, rho * float(air.c[0]) / (np.pi * float(duct.bore.radius[0]) ** 2)


def blowing_of(
    record: LayoutRecord,
    reeds: Sequence[ReedMeant],
    notes: Sequence[NoteRecord],
    told: Callable[[int, int], None] = lambda done, of: None,
) -> BlowingRecord:
    """Notes of a layout, blown softly to loudly with some reeds.

    Parameters
    ----------
    record : the layout
    reeds : that may be on it
    notes : of the layout
    told : is told how many notes are done, and of how many

    Raises
    ------
    Fault
        for a layout whose geometry cannot be played, and notes of which none sounds
    """
    heard = sorted((note for note in notes if note.frequency_hz is not None), key=lambda note: note.target_hz)
    if not heard:
        raise Fault("nothing to blow: none of these notes sounds on this layout")
    duct, found = record_duct(record), dict[int, BlownNote]()
    try:
        for begin in range(0, len(heard), AT_ONCE):
            some = heard[begin : begin + AT_ONCE]
            found |= {id(note): each for note, each in zip(some, _blown(duct, record, reeds, some), strict=True)}
            told(begin + len(some), len(heard))
    except ValueError as error:  # of linear algebra, too
        raise Fault(f"the layout holds no playable geometry: {error}") from None
    return BlowingRecord(
        instrument=record.instrument, layout=record.id, reeds=list(reeds),
        reed_resonance_hz=record.reed.resonance_hz, ways=WAYS, most_partials=PARTIALS,
        highest_hz=HIGHEST_HZ, notes=[found[id(note)] for note in notes if id(note) in found],
        silent=[note.written for note in notes if note.frequency_hz is None],
    )  # fmt: skip


def _blown(
    duct: Duct, record: LayoutRecord, reeds: Sequence[ReedMeant], notes: Sequence[NoteRecord]
) -> list[BlownNote]:
    """Some notes, each with every reed."""
    openness = np.array([note.openness for note in notes]).reshape(len(notes), len(record.holes))
    near = _soft_limits(duct, openness, np.array([note.frequency_hz for note in notes], float))
    chain, entry, count = chain_of(as_arrays(duct)), entry_of(duct)[1], len(reeds)

    def seen(rows: np.ndarray, f: Floats) -> Complexes:
        states = np.repeat(openness[rows], f.shape[1], axis=0).T
        return np.asarray(1.0 / (entry * admittances(chain, states, f.ravel()).reshape(f.shape)))

    table = ImpedanceTable(seen, np.arange(len(notes)), 0.9 * WAY[0] * near, 1.15 * HIGHEST_HZ)
    inertia = record.reed.resonance_hz or np.inf
    valves = Reeds(
        np.tile([reed.strength for reed in reeds], len(notes)), np.asarray(inertia), np.asarray(record.reed.damping)
    )
    tones = blown(
        lambda rows, f: seen(rows // count, f), np.repeat(near, count), valves, np.array(list(WAYS.values())),
        rough=lambda rows, f: table(rows // count, f),
    )  # fmt: skip
    cases = [slice(number * count, (number + 1) * count) for number in range(len(notes))]
    return [_told(note, float(hz), reeds, tones.of(rows)) for note, hz, rows in zip(notes, near, cases, strict=True)]


def _soft_limits(duct: Duct, openness: Floats, near: Floats) -> Floats:
    """The resonances (N,) nearest to some frequencies [Hz], as the duct has them."""
    found = spectrum(duct, openness, 0.5 * near.min(), 1.5 * near.max(), SCAN_STEP_CENTS, near=near)
    return np.array(
        [each.frequency[np.argmin(np.abs(np.log(each.frequency / f)))] for each, f in zip(found, near, strict=True)]
    )


def _told(note: NoteRecord, soft_limit: float, reeds: Sequence[ReedMeant], tones: Blown) -> BlownNote:
    """A note's tones with every reed (R,) as its record."""
    cents = CENTS_PER_OCTAVE * np.log2(tones.hz / soft_limit)
    kept = np.where(tones.steady, cents, np.nan)
    kpa = tones.starts * np.array([reed.closing_kpa or np.nan for reed in reeds])
    starts, starts_kpa = _ends(tones.starts), _ends(kpa)
    blown_how = []
    for at, how in enumerate(get_args(How)):
        (pressure_low, pressure_high), (low, high) = _ends(tones.pressure[:, at]), _ends(kept[:, at])
        steady = int(np.sum(tones.steady[:, at]))
        blown_how.append(
            BlownHow(
                how=how,
                pressure_low=pressure_low,
                pressure_high=pressure_high,
                cents_low=low,
                cents_high=high,
                steady=steady,
                unsteady=int(np.sum(np.isfinite(cents[:, at]))) - steady,
            )
        )
    same = {name: getattr(note, name) for name in ("written", "sounding", "register_number", "alternate", "touches")}
    return BlownNote(
        **same, target_hz=note.target_hz, resonance_hz=soft_limit, cents=note.cents or 0.0,
        starts=int(np.sum(np.isfinite(tones.starts))), starts_low=starts[0], starts_high=starts[1],
        starts_kpa_low=starts_kpa[0], starts_kpa_high=starts_kpa[1], blown=blown_how,
    )  # fmt: skip


def _ends(values: Floats) -> tuple[float | None, float | None]:
    """The least and the greatest of the numbers among them."""
    numbers = values[np.isfinite(values)]
    return (float(numbers.min()), float(numbers.max())) if numbers.size else (None, None)
