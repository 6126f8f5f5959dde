"""Playing frequency and register of each fingering.

*Playing frequency* here means: the frequency where the imaginary part of the whole input admittance (bore and reed)
crosses zero upward, which lies at an impedance maximum. It is the limit of soft playing with a reed that only
yields; lip and breath move a real note by some cents around it, and reed inertia and damping enter through `Reed`.

Two ways to it:

* `tuning_error_cents`, `note_errors`: one Newton step on the phase of the input reflectance at the wanted frequency.
  Smooth, cheap, defined even far away; exact where it is zero. This is what a search follows.
* `spectrum`: all resonances up to a limit, bracketed on a grid and polished. This is what a result is judged by.
"""

from typing import NamedTuple

import numpy as np

from acoustics.arrays import Floats
from acoustics.chain import Chain, chain_of
from acoustics.chart_elements import notes_of
from acoustics.duals import Dual, value_of
from acoustics.network import Duct, as_arrays, moving, split_by_field
from acoustics.scan import admittances, susceptances
from acoustics.tiers import WORST_CENTS, errors_of

CENTS_PER_OCTAVE = 1200.0
MOST_STEPS = 40
SLOPE_STEP = 1e-6
SETTLED = 2e-10
WIDEN_CENTS = 40.0


class NoteErrors(NamedTuple):
    """Tuning errors (N,) [cents], how much of them external interaction makes (N,), and slopes by the duct's numbers.

    The slopes are a Duct whose fields have a leading (N,), in cents per SI unit of the field.
    """

    error: Floats
    interaction: Floats
    slope: Duct


def note_errors(duct: Duct, openness: Floats, f_target: Floats, interaction: bool = True) -> NoteErrors:
    """Errors of fingerings and their slopes by every number of the duct; see `tuning_error_cents`.

    Parameters
    ----------
    duct : one
    openness : (N, H) 0 closed, 1 open, between: open share of the hole's area
    f_target : (N,) [Hz]
    interaction : False for the plain chain, whose openings do not act on each other outside
    """
    free = moving(duct)
    found, alone = _moved_errors(free, openness, f_target, interaction)
    return NoteErrors(found.value, found.value - alone, split_by_field(duct, found.slope))


def moved_errors(duct: Duct, openness: Floats, f_target: Floats) -> Dual:
    """Errors (N,) [cents] with slopes (P, N).

    Parameters
    ----------
    duct : one, some of whose fields are duals by P numbers
    openness : (N, H) 0 closed, 1 open, between: open share of the hole's area
    f_target : (N,) [Hz]
    """
    return _moved_errors(duct, openness, f_target, True)[0]


def _moved_errors(duct: Duct, openness: Floats, f_target: Floats, interaction: bool) -> tuple[Dual, Floats]:
    chain = chain_of(as_arrays(duct))
    plain = chain._replace(vector=value_of(chain.vector))
    found = errors_of(_one(plain), notes_of(openness, f_target), True, interaction)
    assert found.slope is not None
    with np.errstate(invalid="ignore"):
        slope = chain.vector.slope @ found.slope[0].T
    slope[:, found.error[0] == WORST_CENTS] = 0.0
    return Dual(found.error[0], slope), found.alone[0]


def _one(chain: Chain) -> Chain:
    """A chain as a batch of one."""
    return chain._replace(vector=chain.vector[None], hole=chain.hole[None])


def chart_errors(duct: Duct, openness: Floats, f_target: Floats, interaction: bool = True) -> Floats:
    """Errors (N,) [cents] of fingerings, without slopes; see `note_errors`.

    Parameters
    ----------
    duct : one
    openness : (N, H) 0 closed, 1 open, between: open share of the hole's area
    f_target : (N,) [Hz]
    interaction : False for the plain chain, whose openings do not act on each other outside
    """
    chain = chain_of(as_arrays(duct))
    found: Floats = errors_of(_one(chain), notes_of(openness, f_target), False, interaction).error[0]
    return found


def tuning_error_cents(duct: Duct, openness: Floats, f_target: float) -> float:
    """How far the resonance nearest in phase lies above the target [cents]; positive is sharp.

    Parameters
    ----------
    duct : one
    openness : (H,) 0 closed, 1 open, between: open share of the hole's area
    f_target : [Hz]

    The phase of the reflectance falls through zero at each resonance, so the error is
    phase / -(d phase / d cents), the slope taken between two frequencies a tenth of a cent to either side. What
    external interaction adds to the admittance is taken from the upper of the two: it does not change over 0.2 cent.
    """
    return float(chart_errors(duct, np.asarray(openness, float)[None], np.array([f_target]))[0])


def batch_errors(ducts: Duct, openness: Floats, f_target: Floats, interaction: bool = True) -> Floats:
    """Errors (B, N) [cents] of a batch of ducts; see `chart_errors`.

    Parameters
    ----------
    ducts : every field with a leading (B,)
    openness : (N, H) 0 closed, 1 open, between: open share of the hole's area
    f_target : (N,) [Hz], or (B, N), each duct with its own
    interaction : False for the plain chain, whose openings do not act on each other outside
    """
    chain = chain_of(as_arrays(ducts))
    targets = np.asarray(f_target, float)
    if targets.ndim == 1:
        return errors_of(chain, notes_of(openness, targets), False, interaction).error
    each = range(len(chain.vector))
    rows = [errors_of(_single(chain, i), notes_of(openness, targets[i]), False, interaction).error[0] for i in each]
    return np.array(rows).reshape(targets.shape)


def _single(chain: Chain, number: int) -> Chain:
    return chain._replace(vector=chain.vector[number : number + 1], hole=chain.hole[number : number + 1])


def lowest_hz(target: np.ndarray, register: np.ndarray) -> float:
    """Frequency [Hz] below every first resonance of some fingerings.

    A closed cylinder's n-th resonance is 2 n - 1 times its first, a cone's n times; half of the lower of them.

    Parameters
    ----------
    target : (N,) what they should sound [Hz]
    register : (N,) number of the resonance that they should sound in, from 1
    """
    return float(np.min(np.asarray(target) / (2.0 * np.asarray(register) - 1.0))) / 2.0


class Spectrum(NamedTuple):
    """Resonances of one fingering, ascending: frequency (R,) [Hz], height |Z| (R,) [Pa s/m3], quality (R,) [1].

    number (R,) counts from the lowest found in the scan, 1 first.
    """

    frequency: np.ndarray
    height: np.ndarray
    quality: np.ndarray
    number: np.ndarray


def spectrum(
    duct: Duct,
    openness: np.ndarray,
    f_low: float,
    f_high: float,
    step_cents: float = 12.0,
    lossless: bool = False,
    near: np.ndarray | None = None,
) -> list[Spectrum]:
    """Resonances of each fingering between two frequencies: N spectra.

    Parameters
    ----------
    duct : one
    openness : (N, H) 0 closed, 1 open, between: open share of the hole's area
    f_low, f_high : [Hz]
    step_cents : of the grid that is looked at first [cents]
    lossless : leave out all losses but radiation
    near : (N,) [Hz]; if given, only the resonance nearest to it and its two neighbours are worked out for each row

    A resonance is an upward zero of Im Y. Brackets come from a grid of step_cents over the chain alone, widened by
    `WIDEN_CENTS` for what external interaction shifts; Newton steps guarded by bisection then polish the whole to
    better than 1e-6 cent. Two resonances closer than the step would be missed; the step is far below the distance of
    any two resonances of a bore.
    """
    count = int(np.ceil(CENTS_PER_OCTAVE * np.log2(f_high / f_low) / step_cents)) + 1
    f = np.geomspace(f_low, f_high, count)
    openness = np.asarray(openness, float)
    chain = chain_of(as_arrays(duct))
    susceptance = susceptances(chain, openness, f, lossless)
    upward = (susceptance[:, :-1] < 0.0) & (susceptance[:, 1:] >= 0.0)
    rows, cells = np.nonzero(upward)
    number = np.cumsum(upward, axis=1)[rows, cells]
    if near is not None:
        wanted = _neighbours(rows, number, np.abs(np.log(f[cells] / near[rows])))
        rows, cells, number = rows[wanted], cells[wanted], number[wanted]
    if rows.size == 0:
        return [Spectrum(*(np.empty(0) for _ in Spectrum._fields)) for _ in openness]
    wide = 2.0 ** (WIDEN_CENTS / CENTS_PER_OCTAVE)
    found = (*_polish(chain, openness, rows, f[cells] / wide, f[cells + 1] * wide, lossless), number)
    return [_of_row(rows == row, *found) for row in range(len(openness))]


def qualities(duct: Duct, openness: Floats, f: Floats) -> Floats:
    """Quality (N,) [1] of the resonance that each fingering has near a frequency; without end where there is none.

    Parameters
    ----------
    duct : one
    openness : (N, H) 0 closed, 1 open, between: open share of the hole's area
    f : (N,) [Hz]
    """
    pair = np.asarray(f)[:, None] * (1.0 + np.array([-SLOPE_STEP, SLOPE_STEP]))
    states = np.repeat(np.asarray(openness, float), 2, axis=0).T
    sides = admittances(chain_of(as_arrays(duct)), states, pair.ravel(), False).reshape(pair.shape)
    found = (sides[:, 1] - sides[:, 0]).imag / (4.0 * SLOPE_STEP) / sides.mean(axis=1).real
    return np.where(found > 0.0, found, np.inf)


def _neighbours(rows: np.ndarray, number: np.ndarray, distance: np.ndarray) -> np.ndarray:
    """Which brackets (B,) hold the least distant resonance of their row or one next to it."""
    wanted = np.zeros(rows.size, bool)
    for row in np.unique(rows):
        mine = np.flatnonzero(rows == row)
        nearest = number[mine[np.argmin(distance[mine])]]
        wanted[mine] = np.abs(number[mine] - nearest) <= 1
    return wanted


def _of_row(
    mine: np.ndarray, frequency: np.ndarray, height: np.ndarray, quality: np.ndarray, number: np.ndarray
) -> Spectrum:
    """The resonances of one fingering: each once, with the lowest number it was found by, and only where Im Y rises."""
    order = np.argsort(frequency[mine])
    f, tall, sharp, count = (item[mine][order] for item in (frequency, height, quality, number))
    first = np.flatnonzero(np.append(True, np.diff(f) > 1e-6 * f[1:])[: f.size])
    f, tall, sharp, count = f[first], tall[first], sharp[first], np.minimum.reduceat(count, first)
    rising = sharp > 0.0
    return Spectrum(f[rising], tall[rising], sharp[rising], count[rising])


def _polish(
    chain: Chain, openness: Floats, rows: np.ndarray, low: Floats, high: Floats, lossless: bool
) -> tuple[Floats, Floats, Floats]:
    """Newton on Im Y inside each bracket, falling back to bisection: frequency, |Z| and Q, each (rows,).

    A bracket that has settled is worked no further.
    """
    f, slope, value = np.sqrt(low * high), np.zeros(rows.size), np.zeros(rows.size, complex)
    left = np.arange(rows.size)
    for _ in range(MOST_STEPS):
        here = f[left]
        pair = here[:, None] * (1.0 + np.array([-SLOPE_STEP, SLOPE_STEP]))
        states = np.repeat(openness[rows[left]], 2, axis=0).T
        sides = admittances(chain, states, pair.ravel(), lossless).reshape(pair.shape)
        now, rise = sides.mean(axis=1), (sides[:, 1] - sides[:, 0]).imag / (2.0 * SLOPE_STEP * here)
        low[left] = np.where(now.imag < 0.0, here, low[left])
        high[left] = np.where(now.imag < 0.0, high[left], here)
        newton = here - now.imag / np.where(rise == 0.0, 1.0, rise)
        inside = (newton >= low[left]) & (newton <= high[left])
        f[left] = np.where(inside, newton, 0.5 * (low[left] + high[left]))
        value[left], slope[left] = now, rise
        left = left[np.abs(f[left] / here - 1.0) >= SETTLED]
        if left.size == 0:
            break
    return f, np.abs(1.0 / value), 0.5 * f * slope / value.real
