"""A layout's notes over all that may deviate: by slopes, and drawn at random and computed anew.

Every draw moves the whole duct by independent normal numbers (`deviations`); the resonance of each note is then found
from the layout's own by two steps of `tuning_error_cents`, external interaction and all. What a draw shifts a note by
is counted from the same two steps at no deviation and added to the layout's verified cents, so that bands are centred
on them.
"""

import math
from collections.abc import Callable
from statistics import NormalDist
from typing import NamedTuple

import numpy as np

from acoustics.arrays import Floats
from acoustics.network import Duct
from acoustics.resonances import CENTS_PER_OCTAVE, NoteErrors, batch_errors, note_errors
from optimizer.geometry.build import parted
from optimizer.geometry.deviations import Deviations, by_deviation, deviations, moved_ducts
from optimizer.project.uncertainty import Uncertainty
from optimizer.records.layout import LayoutRecord, NoteRecord
from optimizer.records.tolerance import Band, Chance
from optimizer.solving.real_resonances import record_build, record_duct
from optimizer.solving.uncertainty import Spread, brought, model_errors, spread_of

BLOCK = 16
STEPS = 2
LOW, HIGH = 0.05, 0.95
Z_HIGH = NormalDist().inv_cdf(HIGH)
Z_BOTH = NormalDist().inv_cdf(0.975)
QUANTILE_ERROR = math.sqrt(LOW * HIGH) / NormalDist().pdf(Z_HIGH)
"""Standard error of a normal sample's 5 or 95 % value, times root of samples over standard deviation."""


class Sensitivity(NamedTuple):
    """The sounding notes of a layout with their slopes.

    Attributes
    ----------
    duct : the layout's (SI), parted as it is put together
    notes, left_out : those that sound (N,), and the names of those that do not
    cents, frequency : (N,) verified [cents], and what they sound [Hz]
    openness : (N, H)
    main : (N,) True for no alternate
    may : what deviates (K,)
    found : errors and slopes by the duct's numbers
    by : (N, K) for one standard deviation of each deviation [cents]
    spread : standard deviations of each note (N,) [cents]
    """

    duct: Duct
    notes: list[NoteRecord]
    left_out: list[str]
    cents: Floats
    frequency: Floats
    openness: Floats
    main: np.ndarray
    may: Deviations
    found: NoteErrors
    by: Floats
    spread: Spread


def sensitivity(record: LayoutRecord, stated: Uncertainty | None = None) -> Sensitivity:
    """Slopes of a saved layout's notes.

    Parameters
    ----------
    record : the layout
    stated : in place of the record's own deviations, and of what it says was learned of them

    Raises
    ------
    ValueError
        when no main note sounds, or the geometry makes no duct
    """
    build = record_build(record)
    duct = parted(record_duct(record), build)
    notes = [note for note in record.notes if note.frequency_hz is not None and note.cents is not None]
    if all(note.alternate for note in notes):
        raise ValueError("no main note of this layout sounds, so that nothing can be said of them")
    openness = np.array([note.openness for note in notes])
    frequency = np.array([note.frequency_hz for note in notes], float)
    quality = np.array([note.quality or np.inf for note in notes], float)
    learned = record.reference.learned if stated is None else None
    may = deviations(duct, stated or record.reference.uncertainty, build, learned)
    found = note_errors(duct, openness, frequency)
    return Sensitivity(
        duct,
        notes,
        [note.written for note in record.notes if note.frequency_hz is None],
        np.array([note.cents for note in notes], float),
        frequency,
        openness,
        np.array([not note.alternate for note in notes]),
        may,
        found,
        brought(found, model_errors(found, duct, openness, quality), may)[0],
        spread_of(found, duct, openness, quality, may),
    )


def normal_draws(samples: int, count: int, seed: int) -> Floats:
    """Independent standard normal numbers, of shape (samples, count), the same for the same seed."""
    return np.random.default_rng(seed).standard_normal((samples, count))


def drawn_cents(layout: Sensitivity, draws: Floats, told: Callable[[int, int], None] | None = None) -> Floats:
    """Cents of every note (B, N) for draws of the deviations.

    Parameters
    ----------
    layout : its notes with their slopes
    draws : (B, K) in standard deviations
    told : is given how many of how many are done

    Raises
    ------
    ValueError
        when a draw leaves a hole without diameter or chimney: deviations that large are no deviations
    """
    found = shifts(layout, layout.may, np.concatenate([np.zeros((1, draws.shape[1])), draws]), told)
    along = layout.by - by_deviation(layout.found.slope, layout.may)  # what goes with them of the formulas' errors
    return np.asarray(layout.cents + found[1:] - found[0] + draws @ along.T)


def shifts(
    layout: Sensitivity,
    may: Deviations,
    draws: Floats,
    told: Callable[[int, int], None] | None = None,
    steps: int = STEPS,
) -> Floats:
    """How far each note's resonance lies above the layout's own (B, N) [cents], in blocks that keep memory small.

    Parameters
    ----------
    layout : its notes with their slopes
    may : what deviates (K,)
    draws : (B, K) in standard deviations
    told : is given how many of how many are done
    steps : of Newton's method

    Raises
    ------
    ValueError
        when a draw leaves a hole without diameter or chimney
    """
    found = []
    for begin in range(0, len(draws), BLOCK):
        block = draws[begin : begin + BLOCK]
        ducts = moved_ducts(layout.duct, may, block)
        _must_be_holes(ducts)
        cents = np.zeros((len(block), len(layout.notes)))
        for _ in range(steps):
            target = layout.frequency * 2.0 ** (cents / CENTS_PER_OCTAVE)
            cents = cents + np.asarray(batch_errors(ducts, layout.openness, target))
        found.append(cents)
        if told is not None:
            told(begin + len(block), len(draws))
    return np.concatenate(found)


def _must_be_holes(ducts: Duct) -> None:
    holes = ducts.holes
    sizes = (holes.radius, holes.top_radius, holes.chimney_height)
    if any(np.any(np.asarray(size) <= 0.0) for size in sizes) or np.any(np.asarray(ducts.bore.radius) <= 0.0):
        raise ValueError("the stated deviations are so large that some draws leave a hole or the bore without size")


def linear_band(cents: float, sd: float) -> Band:
    """Band [cents] of a normal number, from its mean and standard deviation [cents]."""
    reach = Z_HIGH * sd
    return Band(mean=cents, sd=sd, p05=cents - reach, p50=cents, p95=cents + reach)


def drawn_band(cents: Floats) -> Band:
    """Band [cents] of drawn cents (B,)."""
    p05, p50, p95 = map(float, np.quantile(cents, (LOW, 0.5, HIGH)))
    return Band(mean=float(np.mean(cents)), sd=float(np.std(cents, ddof=1)), p05=p05, p50=p50, p95=p95)


def chance_within(cents: Floats, linear: Floats, limit: float) -> Chance:
    """Chance that all notes of a draw lie within a limit, with its interval.

    Parameters
    ----------
    cents : (B, N) of the notes, drawn [cents]
    linear : (B, N) the same draws by slopes [cents]
    limit : [cents]

    Source: Wilson, J. Am. Stat. Assoc. 22 (1927) 209.
    """
    count = len(cents)
    share, by_slopes = (float(np.mean(np.all(np.abs(rows) <= limit, axis=1))) for rows in (cents, linear))
    more = Z_BOTH**2 / count
    centre = (share + 0.5 * more) / (1.0 + more)
    reach = Z_BOTH * math.sqrt(share * (1.0 - share) / count + 0.25 * more / count) / (1.0 + more)
    return Chance(
        within_cents=limit,
        notes=cents.shape[1],
        share=share,
        low=max(centre - reach, 0.0),
        high=min(centre + reach, 1.0),
        linear_share=by_slopes,
    )
