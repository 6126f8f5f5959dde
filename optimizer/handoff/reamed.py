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


def until_reamed(record: LayoutRecord, printed: LayoutRecord) -> list[str]:
    """What notes do until the holes are reamed, a sentence; none where nothing is left to ream.

    Parameters
    ----------
    record : finished
    printed : the layout as it comes from the printer
    """
    pairs = zip(record.notes, printed.notes, strict=True)
    moved = [(after.cents - before.cents, after) for before, after in pairs
             if before.cents is not None and after.cents is not None]  # fmt: skip
    flat, sharp = (pick(moved, key=lambda each: each[0], default=None) for pick in (min, max))
    if flat is None or sharp is None or flat[0] > -WORTH_CENTS:
        return []
    said = f"Until the holes are reamed, notes lie flat, {flat[1].written} by {-flat[0]:.1f} cents"
    if sharp[0] <= WORTH_CENTS:
        return [f"{said}; do not tune the reed by them."]
    return [
        f"{said}; {sharp[1].written}, with its holes closed, comes out {sharp[0]:.1f} cents sharp, as narrower holes "
        "hold less air. Both go as the holes are reamed: do not tune the reed by them before."
    ]


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
