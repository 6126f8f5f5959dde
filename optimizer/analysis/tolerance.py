"""What deviations in making and playing do to a layout's notes."""

import math
from collections.abc import Callable

import numpy as np

from optimizer import cautions
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
from optimizer.geometry.deviations import AS_A_WHOLE, PER_HOLE
from optimizer.project.uncertainty import PRINTED_SIZES, Uncertainty
from optimizer.records.layout import LayoutRecord, Reference
from optimizer.records.tolerance import DeviationRecord, NoteTolerance, ToleranceRecord
from optimizer.solving.figures_of_merit import robustness
from optimizer.solving.uncertainty import variance_shares

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
        deviations=deviation_records(record.reference, record.printing.tolerance_mm if record.printing else None),
        notes=_note_records(layout, drawn),
        left_out=layout.left_out,
        robustness_cents=robustness(list(layout.spread.making), list(~main)),
        chance=chance_within(drawn[:, main], linear[:, main], within),
        shares=variance_shares(layout.by[main], layout.may.names),
        worth_cents=worth,
        hole_undersize_mm=record.printing.hole_undersize_mm if record.printing else None,
        holes=reaming(record, layout, worth),
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


def deviation_records(reference: Reference, tolerance_mm: float | None) -> list[DeviationRecord]:
    """The deviations in force with where each figure comes from; a record tells no default from the same figure
    stated."""
    words = {kind: (f"{word} of a hole", "hole by hole") for kind, word in PER_HOLE.items()}
    words |= {kind: (word, "as a whole") for kind, word in AS_A_WHOLE.items()}
    return [
        DeviationRecord(
            kind=word,
            sd=getattr(reference.uncertainty, kind),
            unit="mm" if kind.endswith("_mm") else "%" if kind.endswith("_percent") else "degC",
            varies=varies,
            source=_source(kind, reference, tolerance_mm),
        )
        for kind, (word, varies) in words.items()
    ]


def _source(kind: str, reference: Reference, tolerance_mm: float | None) -> str:
    if kind in reference.uncertainty_from_tolerance:
        stated = "" if tolerance_mm is None else f" of {tolerance_mm:g} mm"
        return f"half of the printer's tolerance{stated}: common practice, no source"
    if getattr(reference.uncertainty, kind) != Uncertainty.model_fields[kind].default:
        return "stated in the project"
    common = kind in PRINTED_SIZES or kind == "shrinkage_percent"
    return "the default: common practice for printed parts, no source" if common else "the default: an estimate"
