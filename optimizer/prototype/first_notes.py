"""Which notes to play first of an instrument that nothing was measured of yet."""

import numpy as np

from optimizer.prototype.next_best import best_next, candidates
from optimizer.prototype.played_model import played
from optimizer.records.calibration import NextStep
from optimizer.records.layout import LayoutRecord
from optimizer.records.measurement import PLAYED_CENTS

FIRST = 12
"""Eight to twelve notes over both registers do most of what all would."""


def first_notes(record: LayoutRecord, passes: int) -> list[NextStep]:
    """The notes of a layout that say most of all of them, in order.

    Parameters
    ----------
    record : the layout
    passes : how often each is played

    Raises
    ------
    ValueError
        when no note of the layout sounds
    """
    model = played(record)
    theta = np.zeros(len(model.names))
    slopes = model.slopes(theta, model.layout.cents)
    notes = [each for each in candidates(record, model, slopes, PLAYED_CENTS / np.sqrt(passes)) if each.kind == "note"]
    return best_next(model, slopes, np.eye(len(theta)), notes, FIRST)
