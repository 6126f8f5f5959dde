"""Which holes to print under size and ream out to pitch: a hole can be made wider afterwards, never narrower.

A hole is judged by the main note that it moves most. That note may come out off by what making brings and by what the
formulas are worth; air and reed are at hand when it is measured. The hole is made so much smaller that, with 95 %
certainty, the note does not come out sharper than the layout has it: at first by the slope, then by computing the
smaller hole anew. Each hole is taken by itself: reamed from the bell up, those below are right by then.
"""

import math

import numpy as np

from acoustics.arrays import Floats
from optimizer.analysis.sensitivity import Z_HIGH, Sensitivity, shifts
from optimizer.geometry.build import MM, is_lined
from optimizer.geometry.deviations import deviations
from optimizer.project.printer import hole_drawn
from optimizer.project.uncertainty import Uncertainty
from optimizer.records.layout import HoleRecord, LayoutRecord
from optimizer.records.tolerance import HoleAdvice

TENTH_MM = 0.1
STEP_MM = 0.05
MOST_SHARE = 0.2
"""No hole is made smaller by more than this share of its diameter."""

ROUNDS = 4
SHOWN_CENTS = 0.05


def diameter_slopes(layout: Sensitivity) -> Floats:
    """Cents of each note per mm more of each hole's diameter (N, H), bore end and top alike."""
    holes = layout.found.slope.holes
    return np.asarray(0.5 * MM * (np.asarray(holes.radius) + np.asarray(holes.top_radius)))


def reaming(record: LayoutRecord, layout: Sensitivity, worth_cents: float) -> list[HoleAdvice]:
    """Advice for every hole, from the bell up.

    Parameters
    ----------
    record : the layout
    layout : its notes with their slopes
    worth_cents : least cents per 0.1 mm for which reaming is worth it
    """
    slopes = np.where(layout.main[:, None], diameter_slopes(layout), 0.0)
    notes = np.argmax(np.abs(slopes), axis=0)
    slope = slopes[notes, np.arange(len(record.holes))]
    reasons = [_reason(hole, float(rise), worth_cents) for hole, rise in zip(record.holes, slope, strict=True)]
    sd = np.sqrt(layout.spread.making**2 + layout.spread.model**2)[notes]
    wanted = np.array([not reason for reason in reasons])
    under, flat = _under_sizes(record, layout, np.where(wanted, slope, np.inf), notes, sd)
    return [
        _advice(record, number, layout, slopes[:, number], int(notes[number])).model_copy(
            update=_made_smaller(record, number, float(under[number]), float(flat[number]), float(sd[number]))
            if not reasons[number]
            else {"reason": reasons[number]}
        )
        for number in range(len(record.holes))
    ]


def _reason(hole: HoleRecord, slope: float, worth_cents: float) -> str:
    """Why a hole is left as it is; nothing where it is worth making it smaller."""
    if hole.locked:
        return "already made"
    if is_lined(hole):
        return "a lined tube, not printed"
    if abs(slope) * TENTH_MM < worth_cents:
        return "moves its note too little"
    return "" if slope > 0.0 else "its note falls as it gets wider"


def _under_sizes(
    record: LayoutRecord, layout: Sensitivity, slope: Floats, notes: np.ndarray, sd: Floats
) -> tuple[Floats, Floats]:
    """How much smaller to make each hole (H,) [mm], and how far its note then falls (H,) [cents]."""
    most = MOST_SHARE * np.array([hole.diameter_mm for hole in record.holes])
    wanted = Z_HIGH * sd
    under = _rounded_up(np.minimum(wanted / slope, most), most)
    flat = np.zeros(len(under))
    for _ in range(ROUNDS):
        flat = -_smaller(layout, under)[np.arange(len(under)), notes]
        short = (under > 0.0) & (flat < wanted) & (under < most - STEP_MM)
        if not np.any(short):
            break
        grown = under * np.where(short, wanted / np.maximum(flat, 0.5 * wanted), 1.0)
        under = np.where(short, _rounded_up(np.maximum(grown, under + 0.5 * STEP_MM), most), under)
    return under, flat


def _rounded_up(under: Floats, most: Floats) -> Floats:
    steps = np.minimum(np.ceil(under / STEP_MM - 1e-9), np.floor(most / STEP_MM + 1e-9))
    return np.asarray(STEP_MM * steps)


def _smaller(layout: Sensitivity, under: Floats) -> Floats:
    """Shift of every note (H, N) [cents] with one hole after another made smaller by under (H,) [mm]."""
    by_mm = deviations(layout.duct, Uncertainty(hole_diameter_mm=1.0))
    draws = np.zeros((len(under), len(by_mm.names)))
    draws[:, [kind == "hole_diameter_mm" for kind in by_mm.kinds]] = -np.diag(under)
    return shifts(layout, by_mm, draws)


def _advice(record: LayoutRecord, number: int, layout: Sensitivity, slopes: Floats, note: int) -> HoleAdvice:
    """A hole's slopes, without advice."""
    hole, tenth = record.holes[number], TENTH_MM * slopes
    return HoleAdvice(
        hole=hole.id,
        diameter_mm=hole.diameter_mm,
        moves={
            each.written: round(float(cents), 3)
            for each, cents in zip(layout.notes, tenth, strict=True)
            if abs(cents) >= SHOWN_CENTS
        },
        note=layout.notes[note].written,
        cents_per_tenth=float(tenth[note]),
        reading_cents=float(layout.cents[note]),
    )


def _made_smaller(record: LayoutRecord, number: int, under: float, flat: float, sd: float) -> dict[str, object]:
    """What the advice for a hole consists of."""
    finished = round(record.holes[number].diameter_mm - under, 2)
    printing = record.printing
    drawn = printing and tuple(round(each, 2) for each in hole_drawn(printing, finished))
    certainty = 0.5 * math.erfc(-flat / sd / math.sqrt(2.0)) if sd > 0.0 else 1.0
    return {
        "under_mm": round(under, 2),
        "finished_mm": finished,
        "drawn_mm": drawn,
        "flat_cents": flat,
        "certainty": certainty,
    }
