"""What may be behind measured notes that nothing stated explains: a leak, a hole far off, a slip of one note."""

import numpy as np

from acoustics.arrays import Floats
from acoustics.resonances import chart_errors
from optimizer.prototype.fairness import LEAK_SHARE, SUSPECT, Cause, causes
from optimizer.prototype.map_fit import Found, Observed
from optimizer.prototype.played_model import Played
from optimizer.words import listed

AS_LIKELY = 0.7
"""Causes within so much of the likeliest score are told beside it."""

LEAK, NOTE = "leak", "note"


def suspicions(model: Played, observed: Observed, found: Found) -> list[str]:
    """Sentences of what stands out, none where nothing does.

    Parameters
    ----------
    model : what may differ
    observed : what was measured
    found : the fit
    """
    first, *others = [
        cause
        for cause in causes(found, observed, patterns(model))
        if cause.kind != LEAK or cause.size > 0.0  # a leak opens a hole, it never closes one
    ]
    if abs(first.score) < SUSPECT:
        return []
    near = [each for each in others if abs(each.score) > abs(first.score) - AS_LIKELY][:3]
    also = f"; as likely: {listed([_named(each) for each in near])}" if near else ""
    return [f"{_sentence(first)} ({abs(first.score):.1f} standard deviations beyond what was stated){also}"]


def patterns(model: Played) -> dict[tuple[str, str], Floats]:
    """Cents that each cause brings to the notes (N,), by kind and what it is of: a leak of `LEAK_SHARE`, one deviation
    of a diameter, bore or reed, 1 cent of a single note."""
    layout = model.layout
    told: dict[tuple[str, str], Floats] = {}
    at_rest = chart_errors(layout.duct, layout.openness, layout.frequency)
    for number, hole in enumerate(model.holes):
        shut = layout.openness[:, number] == 0.0
        opened = layout.openness.copy()
        opened[shut, number] = LEAK_SHARE
        told[LEAK, hole] = np.where(shut, chart_errors(layout.duct, opened, layout.frequency) - at_rest, 0.0)
    for name, by in zip(layout.may.names, layout.by.T, strict=True):
        if not name.startswith(("chimney", "position")):
            told["number", name] = by
    for number, note in enumerate(layout.notes):
        told[NOTE, note.written] = np.eye(len(layout.notes))[number]
    return told


def _sentence(cause: Cause) -> str:
    if cause.kind == NOTE:
        way = "sharp" if cause.size > 0.0 else "flat"
        return (
            f"{cause.of} alone is {abs(cause.size):.0f} cents {way} of all that explains the others; "
            "play it again, look at its fingering and its pads"
        )
    if cause.kind == LEAK:
        return f"the notes look as if {cause.of} leaked; try it with a strip of paper, and measure again"
    way = "more" if cause.size > 0.0 else "less"
    return f"the notes look as if the {cause.of} were far {way} than stated; measure it"


def _named(cause: Cause) -> str:
    if cause.kind == LEAK:
        return f"a leak at {cause.of}"
    return f"{cause.of} by itself" if cause.kind == NOTE else f"the {cause.of}"
