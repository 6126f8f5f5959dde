"""What deviations in making and playing do to a layout's notes."""

import math
from collections.abc import Callable, Collection

import numpy as np

from optimizer import cautions
from optimizer.analysis.bore_tolerance import bore_tolerance
from optimizer.analysis.reaming import reaming
from optimizer.analysis.sensitivity import (
    QUANTILE_ERROR,
    Sensitivity,
    chance_within,
    drawn_band,
    drawn_cents,
    linear_band,
    normal_draws,
    sensitivity,
)
from optimizer.geometry.build import is_lined, off_mm
from optimizer.geometry.deviations import within_mm
from optimizer.project.uncertainty import PRINTED_SIZES, Uncertainty, unit_of
from optimizer.records.layout import LayoutRecord, Reference
from optimizer.records.tolerance import DeviationRecord, NoteTolerance, ToleranceRecord
from optimizer.solving.figures_of_merit import robustness
from optimizer.solving.uncertainty import variance_shares

DEVIATING = {
    "hole_diameter_mm": ("diameter of a hole", "hole by hole"),
    "vent_diameter_mm": ("diameter of a vent, a lined tube", "vent by vent"),
    "chimney_mm": ("chimney of a hole", "hole by hole"),
    "position_mm": ("position of a hole", "hole by hole"),
    "bore_diameter_mm": ("bore of a printed piece", "piece by piece"),
    "crook_bore_mm": ("bore of the crook", "as a whole"),
    "staple_bore_mm": ("bore of the staple", "as a whole"),
    "shrinkage_percent": ("shrinkage", "as a whole"),
    "temperature_degC": ("temperature", "as a whole"),
    "reed_volume_percent": ("reed volume", "as a whole"),
    "reed_volume_cm3": ("reed volume and compliance", "as a whole"),
    "all_holes_mm": ("diameter of all printed holes", "as a whole"),
}
"""Kinds of deviations as they are told, and how each varies."""

TUBES = {"vent_diameter_mm": "drawn tubes", "crook_bore_mm": "drawn tubes", "staple_bore_mm": "drawn or turned brass"}

Told = Callable[[int, int], None]


def tolerance(
    record: LayoutRecord, samples: int, seed: int, within: float, worth: float, told: Told | None = None
) -> ToleranceRecord:
    """A layout over all that may deviate.

    Raises
    ------
    ValueError
        for a layout that does not sound, and for deviations that leave a hole without size
    """
    layout = sensitivity(record)
    draws = normal_draws(samples, len(layout.may.names), seed)
    drawn, linear = drawn_cents(layout, draws, told), layout.cents + draws @ layout.by.T
    main = layout.main
    return ToleranceRecord(
        instrument=record.instrument,
        layout=record.id,
        samples=samples,
        seed=seed,
        sd_error=1.0 / math.sqrt(2.0 * (samples - 1)),
        quantile_error=QUANTILE_ERROR / math.sqrt(samples),
        deviations=[
            *deviation_records(
                record.reference, record.printing.tolerance_mm if record.printing else None, layout.may.kinds
            ),
            *_tube_records(record),
        ],
        notes=_note_records(layout, drawn),
        left_out=layout.left_out,
        robustness_cents=robustness(list(layout.spread.making), list(~main)),
        chance=chance_within(drawn[:, main], linear[:, main], within),
        shares=variance_shares(layout.by[main], layout.may.names),
        doubt=variance_shares(layout.spread.by_source[main], layout.spread.sources),
        worth_cents=worth,
        hole_undersize_mm=record.printing.hole_undersize_mm if record.printing else None,
        holes=reaming(record, layout, worth),
        bore=bore_tolerance(record),
        cautions=[cautions.PRINTING, cautions.WORKING],
    )


def _note_records(layout: Sensitivity, drawn: np.ndarray) -> list[NoteTolerance]:
    spread = layout.spread
    return [
        NoteTolerance(
            written=note.written,
            sounding=note.sounding,
            register_number=note.register_number,
            alternate=note.alternate,
            cents=float(layout.cents[n]),
            making_sd_cents=float(spread.making[n]),
            playing_sd_cents=float(spread.playing[n]),
            model_sd_cents=float(spread.model[n]),
            linear=linear_band(float(layout.cents[n]), float(np.hypot(spread.making[n], spread.playing[n]))),
            drawn=drawn_band(drawn[:, n]),
        )
        for n, note in enumerate(layout.notes)
    ]


def deviation_records(
    reference: Reference, tolerance_mm: float | None, kinds: Collection[str]
) -> list[DeviationRecord]:
    """The deviations in force with where each figure comes from; a record tells no default from the same figure
    stated.

    Parameters
    ----------
    reference : holds them
    tolerance_mm : the printer's, None without one
    kinds : those that a layout has; one without a crook has no crook's
    """
    return [
        DeviationRecord(
            kind=word,
            sd=getattr(reference.uncertainty, kind),
            unit=unit_of(kind),
            varies=varies,
            source=_source(kind, reference, tolerance_mm),
        )
        for kind, (word, varies) in DEVIATING.items()
        if kind in kinds
    ]


def _tube_records(record: LayoutRecord) -> list[DeviationRecord]:
    known = sorted({off for hole in record.holes if is_lined(hole) and (off := off_mm(hole)) is not None})
    return [
        DeviationRecord(
            kind=f"diameter of a tube drawn to {off:g} mm either way",
            sd=within_mm(off),
            unit="mm",
            varies="vent by vent",
            source="the stock's tolerance, anything within it as likely",
        )
        for off in known
    ]


def _source(kind: str, reference: Reference, tolerance_mm: float | None) -> str:
    if kind in reference.uncertainty_from_tolerance:
        stated = "" if tolerance_mm is None else f" of {tolerance_mm:g} mm"
        return f"half of the printer's tolerance{stated}: common practice, no source"
    if kind in reference.uncertainty_from_printer:
        return "the printer's coupon"
    if getattr(reference.uncertainty, kind) != Uncertainty.model_fields[kind].default:
        return "stated in the project"
    made = "printed parts" if kind in PRINTED_SIZES or kind == "shrinkage_percent" else TUBES.get(kind)
    return f"the default: common practice for {made}, no source" if made else "the default: an estimate"
