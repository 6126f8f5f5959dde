"""Instruments drawn at random from what was stated, as printed and as played by someone who scatters."""

import os
from typing import NamedTuple

import numpy as np

from optimizer.prototype.calibration import calibrated
from optimizer.prototype.played_model import Played, played
from optimizer.records.measurement import CommonDeviations, MeasuredNote, MeasurementRecord, layout_mark

COMMON_CENTS, NOTE_CENTS, PASSES = 2.0, 4.0, 3


class Drawn(NamedTuple):
    """A prototype: its numbers (P,), its notes (N,) and how high it was played [cents]."""

    theta: np.ndarray
    cents: np.ndarray
    lift: float


def drawn(model: Played, seed) -> Drawn:
    """A prototype from the stated deviations by the exact model."""
    dice = np.random.default_rng(seed)
    theta = np.where(model.of_measurement, 0.0, dice.standard_normal(len(model.names)))
    return Drawn(theta, model.cents(theta), COMMON_CENTS * dice.standard_normal())


def heard(record, prototype: Drawn, lines, seed, model=None) -> MeasurementRecord:
    """Three passes of some lines of a layout as a player plays them."""
    model = model or played(record)
    dice = np.random.default_rng([9, *np.atleast_1d(seed)])
    notes = []
    for line in lines:
        note, cents = record.notes[line], prototype.cents[model.lines.index(line)]
        takes = cents + prototype.lift + NOTE_CENTS * dice.standard_normal(PASSES)
        notes.append(
            MeasuredNote(
                line=line, written=note.written, fingering=note.touches, register_number=note.register_number,
                cents=float(takes.mean()), sd_cents=NOTE_CENTS / PASSES**0.5, takes=takes.tolist(),
            )
        )  # fmt: skip
    return MeasurementRecord(
        instrument=record.instrument, source="three passes", layout=record.id, layout_mark=layout_mark(record),
        a4_hz=record.reference.a4_hz, temperament=record.reference.temperament,
        common=CommonDeviations(clock_cents=0.0, player_cents=COMMON_CENTS), notes=notes,
    )  # fmt: skip


def fitted(record, model, seed):
    """The fit of a layout to what was heard of one prototype of it."""
    prototype = drawn(model, seed)
    return calibrated(record, heard(record, prototype, range(len(record.notes)), seed, model))


def draws(few: int) -> int:
    """How many instruments to draw: as many as `HOLEWRIGHT_DRAWS` says, or a few."""
    return int(os.environ.get("HOLEWRIGHT_DRAWS", few))


def hold_nine_of_ten(inside) -> bool:
    """Whether the share of notes (prototypes, notes) in their bands is nine of ten, within two standard errors.

    Notes of one prototype go together: it is the prototypes that are independent, and their shares (n,) whose scatter
    over the root of n is the error (Cochran, *Sampling Techniques*, 9A.2, from memory).
    """
    shares = np.mean(np.asarray(inside, float), axis=1)
    return bool(abs(np.mean(shares) - 0.9) < 2.0 * np.std(shares, ddof=1) / np.sqrt(len(shares)))
