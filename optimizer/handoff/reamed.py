"""An instrument as it comes from the printer: with holes narrower where they are to be reamed out to pitch."""

from optimizer.analysis.reaming import reaming
from optimizer.analysis.sensitivity import sensitivity
from optimizer.handoff.shapes.shape import State
from optimizer.records.layout import LayoutRecord
from optimizer.records.tolerance import HoleAdvice
from optimizer.solving.real_resonances import predict_with_doubt

WORTH_CENTS = 0.5
"""Least cents per 0.1 mm for which a hole is worth reaming, as `tolerance` has it unless told otherwise."""


def advice_of(record: LayoutRecord) -> dict[str, HoleAdvice]:
    """How to ream each hole, by its id, and where the tuner is to stop.

    Raises
    ------
    ValueError
        for a layout that does not sound
    """
    return {each.hole: each for each in reaming(record, sensitivity(record), WORTH_CENTS)}


def less_mm(advice: dict[str, HoleAdvice]) -> dict[str, float]:
    """How much narrower holes are printed, by id, those that are [mm]."""
    return {name: each.under_mm for name, each in advice.items() if each.under_mm}


def as_printed(record: LayoutRecord, state: State, advice: dict[str, HoleAdvice]) -> LayoutRecord:
    """The layout with its holes as they come from the printer, and its notes with these.

    Parameters
    ----------
    record : finished
    state : what was printed
    advice : how holes are to be reamed
    """
    less = less_mm(advice) if state == "printed to ream" else {}
    if not less:
        return record
    holes = [
        hole.model_copy(
            update={
                "diameter_mm": round(hole.diameter_mm - less.get(hole.id, 0.0), 3),
                "top_diameter_mm": round(hole.top_diameter_mm - less.get(hole.id, 0.0), 3),
            }
        )
        for hole in record.holes
    ]
    made = record.model_copy(update={"holes": holes})
    notes, doubt = predict_with_doubt(made)
    return made.model_copy(update={"notes": notes, "doubt": doubt})
