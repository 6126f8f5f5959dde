"""Playing frequency and register of each fingering.

*Playing frequency* here means: the frequency where the imaginary part of the whole input admittance (bore and reed)
crosses zero upward, which lies at an impedance maximum. It is the limit of soft playing with a reed that only
yields; lip and breath move a real note by some cents around it, and reed inertia and damping enter through `Reed`.

Two ways to it:

* `tuning_error_cents`: one Newton step on the phase of the input reflectance at the wanted frequency. Smooth, cheap,
  defined even far away; exact where it is zero. This is what a search follows.
* `spectrum`: all resonances up to a limit, bracketed on a grid and polished. This is what a result is judged by.
"""

from typing import NamedTuple

import jax
import jax.numpy as jnp
import numpy as np

from acoustics.arrays import Array
from acoustics.network import (
    Duct,
    input_admittance,
    input_impedances,
    most_open,
    reference_admittance,
    reflectance,
    with_reed,
)
from acoustics.staging import staged

CENTS_PER_OCTAVE = 1200.0
SECANT_CENTS = 0.1
POLISH_BLOCK = 64
MOST_STEPS = 40
SLOPE_STEP = 1e-6
SETTLED = 2e-10
WIDEN_CENTS = 40.0


def tuning_error_cents(duct: Duct, openness: Array, f_target: Array, lossless: bool = False) -> Array:
    """How far the resonance nearest in phase lies above the target [cents], shape (); positive is sharp.

    Parameters
    ----------
    openness : (H,); f_target : () [Hz]

    The phase of the reflectance falls through zero at each resonance, so the error is
    phase / -(d phase / d cents), the slope taken between two frequencies a tenth of a cent to either side. (An exact
    slope would make every gradient a second derivative, three times dearer to compile and no nearer the zero.) What
    external interaction adds to the admittance is taken from the upper of the two: it does not change over 0.2 cent.
    Differentiable in every field of the duct.
    """
    return _errors(duct, openness, f_target, lossless)[0]


def _errors(
    duct: Duct, openness: Array, f_target: Array, lossless: bool, most: int | None = None
) -> tuple[Array, Array]:
    """Error of the whole, and of the chain without external interaction, both () [cents]; most open holes of all."""
    f = around(f_target)
    chain, whole = input_impedances(duct, openness, f, lossless, most)
    alone, added = 1.0 / chain, 1.0 / whole - 1.0 / chain[-1]
    whole_error, alone_error = (
        phase_error(duct, with_reed(duct, bore, f, lossless), f) for bore in (alone + added, alone)
    )
    return whole_error, alone_error


def around(f: Array) -> Array:
    """The two frequencies (2,) of the secant."""
    return f * 2.0 ** (jnp.array([-SECANT_CENTS, SECANT_CENTS]) / CENTS_PER_OCTAVE)


def phase_error(duct: Duct, admittance: Array, f: Array) -> Array:
    """Error (...) [cents] from the admittance (2, ...) at `around` the target; sound where the phase wraps, too."""
    below, above = reflectance(admittance, reference_admittance(duct, f))
    phase, fall = jnp.angle(below + above), jnp.angle(below * jnp.conj(above))
    error: Array = 2.0 * SECANT_CENTS * phase / fall
    return error


class NoteErrors(NamedTuple):
    """Tuning errors (N,) [cents], how much of them external interaction makes (N,), and slopes by the duct's numbers.

    The slopes are a Duct whose fields have a leading (N,), in cents per SI unit of the field.
    """

    error: Array
    interaction: Array
    slope: Duct


def note_errors(duct: Duct, openness: np.ndarray, f_target: Array, interaction: bool = True) -> NoteErrors:
    """Errors and slopes of fingerings openness (N, H) at targets (N,) [Hz]; see `tuning_error_cents`.

    Without `interaction` they are those of the plain chain. openness is data, not traced.
    """
    found: NoteErrors = _note_errors(duct, openness, f_target, interaction=interaction, most=most_open(openness))
    return found


@staged(static=("interaction", "most"))
def _note_errors(duct: Duct, openness: Array, f_target: Array, *, interaction: bool, most: int) -> NoteErrors:
    def errors(part: Duct, state: Array, target: Array) -> tuple[Array, Array]:
        whole, alone = _errors(part, state, target, False, most)
        return (whole if interaction else alone), alone

    def one(state: Array, target: Array) -> NoteErrors:
        (error, alone), slope = jax.value_and_grad(errors, has_aux=True)(duct, state, target)
        return NoteErrors(error, error - alone, slope)

    return jax.vmap(one)(openness, f_target)


def chart_errors(duct: Duct, openness: np.ndarray, f_target: Array, interaction: bool = True) -> Array:
    """Errors (N,) [cents] of fingerings openness (N, H) at targets (N,) [Hz], without slopes; see `note_errors`."""
    errors: Array = _chart_errors(duct, openness, f_target, interaction=interaction, most=most_open(openness))
    return errors


@staged(static=("interaction", "most"))
def _chart_errors(duct: Duct, openness: Array, f_target: Array, *, interaction: bool, most: int) -> Array:
    def one(state: Array, target: Array) -> Array:
        whole, alone = _errors(duct, state, target, False, most)
        return whole if interaction else alone

    return jax.vmap(one)(openness, f_target)


def batch_errors(ducts: Duct, openness: np.ndarray, f_target: Array) -> Array:
    """Errors (B, N) [cents] of a batch of ducts whose every field has a leading (B,), each with its own targets.

    openness (N, H), f_target (B, N) [Hz]; see `chart_errors`
    """
    errors: Array = _batch_errors(ducts, openness, f_target, most=most_open(openness))
    return errors


@staged(static=("most",))
def _batch_errors(ducts: Duct, openness: Array, f_target: Array, *, most: int) -> Array:
    def one(duct: Duct, state: Array, target: Array) -> Array:
        return _errors(duct, state, target, False, most)[0]

    return jax.vmap(jax.vmap(one, (None, 0, 0)), (0, None, 0))(ducts, openness, f_target)


def lowest_hz(target: np.ndarray, register: np.ndarray) -> float:
    """Frequency [Hz] below every first resonance of fingerings that should sound target (N,) in register (N,).

    A closed cylinder's n-th resonance is 2 n - 1 times its first, a cone's n times; half of the lower of them.
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


@staged(static=("lossless",))
def admittance_grid(duct: Duct, openness: Array, f: Array, *, lossless: bool = False) -> Array:
    """Input admittance, shape (N, F), for openness (N, H) and frequencies f (N, F) [Hz]."""

    def one(state: Array, frequency: Array) -> Array:
        return input_admittance(duct, state, frequency, lossless)

    return jax.vmap(jax.vmap(one, (None, 0)))(openness, f)


@staged(static=("lossless",))
def _chain_grid(duct: Duct, openness: Array, f: Array, *, lossless: bool) -> Array:
    """Im Y of the chain without external interaction (N, F), for openness (N, H) at f (F,) [Hz]."""

    def one(state: Array, frequency: Array) -> Array:
        chain, _ = input_impedances(duct, state, frequency[None], lossless)
        return with_reed(duct, 1.0 / chain[0], frequency, lossless).imag

    return jax.vmap(jax.vmap(one, (None, 0)), (0, None))(openness, f)


def spectrum(
    duct: Duct,
    openness: np.ndarray,
    f_low: float,
    f_high: float,
    step_cents: float = 12.0,
    lossless: bool = False,
    near: np.ndarray | None = None,
) -> list[Spectrum]:
    """Resonances of each fingering between f_low and f_high [Hz]; openness (N, H) -> N spectra.

    near : (N,) [Hz]; if given, only the resonance nearest to it and its two neighbours are worked out for each row

    A resonance is an upward zero of Im Y. Brackets come from a grid of step_cents over the chain alone, widened by
    `WIDEN_CENTS` for what external interaction shifts; Newton steps guarded by bisection then polish the whole to
    better than 1e-6 cent. Two resonances closer than the step would be missed; the step is far below the distance of
    any two resonances of a bore.
    """
    count = int(np.ceil(CENTS_PER_OCTAVE * np.log2(f_high / f_low) / step_cents)) + 1
    f = np.geomspace(f_low, f_high, count)
    openness = np.asarray(openness, float)
    susceptance = np.asarray(_chain_grid(duct, openness, f, lossless=lossless))
    upward = (susceptance[:, :-1] < 0.0) & (susceptance[:, 1:] >= 0.0)
    rows, cells = np.nonzero(upward)
    number = np.cumsum(upward, axis=1)[rows, cells]
    if near is not None:
        wanted = _neighbours(rows, number, np.abs(np.log(f[cells] / near[rows])))
        rows, cells, number = rows[wanted], cells[wanted], number[wanted]
    if rows.size == 0:
        return [Spectrum(*(np.empty(0) for _ in Spectrum._fields)) for _ in openness]
    wide = 2.0 ** (WIDEN_CENTS / CENTS_PER_OCTAVE)
    found = (*_polish(duct, openness, rows, f[cells] / wide, f[cells + 1] * wide, lossless), number)
    return [_of_row(rows == row, *found) for row in range(len(openness))]


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
    """The resonances of one fingering: each once, and only where Im Y rises."""
    order = np.argsort(frequency[mine])
    f, tall, sharp, count = (item[mine][order] for item in (frequency, height, quality, number))
    keep = (sharp > 0.0) & np.append(True, np.diff(f) > 1e-6 * f[1:])[: f.size]
    return Spectrum(f[keep], tall[keep], sharp[keep], count[keep])


def _polish(
    duct: Duct, openness: np.ndarray, rows: np.ndarray, low: np.ndarray, high: np.ndarray, lossless: bool
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Newton on Im Y inside each bracket, falling back to bisection: frequency, |Z| and Q, each (rows,).

    Brackets are worked off in blocks of one size, so that one shape is compiled.
    """
    count = -(-rows.size // POLISH_BLOCK) * POLISH_BLOCK
    padded = np.resize(np.arange(rows.size), count)
    found = [
        _polish_block(duct, openness[rows[block]], low[block], high[block], lossless)
        for block in padded.reshape(-1, POLISH_BLOCK)
    ]
    f, value, slope = (np.concatenate(parts)[: rows.size] for parts in zip(*found, strict=True))
    return f, np.abs(1.0 / value), 0.5 * f * slope / value.real


def _polish_block(
    duct: Duct, states: np.ndarray, low: np.ndarray, high: np.ndarray, lossless: bool
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Resonance frequency, admittance there and slope of Im Y per hertz, each (block,)."""
    f = np.sqrt(low * high)
    for _ in range(MOST_STEPS):
        pair = f[:, None] * (1.0 + np.array([-SLOPE_STEP, SLOPE_STEP]))
        sides = np.asarray(admittance_grid(duct, states, pair, lossless=lossless))
        value, slope = sides.mean(axis=1), (sides[:, 1] - sides[:, 0]).imag / (2.0 * SLOPE_STEP * f)
        low, high = np.where(value.imag < 0.0, f, low), np.where(value.imag < 0.0, high, f)
        newton = f - value.imag / slope
        moved = np.where((newton >= low) & (newton <= high), newton, 0.5 * (low + high))
        settled = np.max(np.abs(moved / f - 1.0)) < SETTLED
        f = moved
        if settled:
            break
    return f, value, slope
