"""A piece drawn anew under the fit: the offsets that carry the fit into the project, what is locked, what it gains."""

import numpy as np
import pytest
from pieced import LONG
from prototypes import drawn, heard
from shelf import pipe

from optimizer.project.faults import Fault
from optimizer.project.scale import frequencies, targets
from optimizer.prototype.calibration import calibrated
from optimizer.prototype.played_model import played
from optimizer.prototype.reprint_search import drawn_anew, with_offsets
from optimizer.solving.real_resonances import predict


@pytest.fixture(scope="module")
def loaded():
    return pipe(LONG)


def test_offsets_move_what_the_project_wants_of_each_note(printed, loaded):
    # A note that sounds 1200 log2(1.01) cents high is to be drawn for a hundredth less.
    model = played(printed)
    off = np.full(len(model.layout.notes), 1200.0 * np.log2(1.01))
    moved = with_offsets(loaded, model, off)
    before, after = (frequencies(targets(each.project, each.notes)) for each in (loaded, moved))
    assert after == pytest.approx(before / 1.01, rel=1e-6)


def test_other_pieces_stay_and_the_figure_is_that_of_the_notes(printed, loaded):
    instrument = drawn(played(printed), 2)
    fit = calibrated(printed, heard(printed, instrument, range(len(printed.notes)), 2))
    found = drawn_anew(printed, fit, loaded, 30.0, 6.0)
    number = found.reprint.piece
    kept = [hole for n, piece in enumerate(printed.pieces, 1) if n != number for hole in piece.holes]
    made = {hole.id: hole for hole in found.layout.holes}
    assert kept
    for hole in printed.holes:
        if hole.id in kept:
            same = made[hole.id]
            assert (same.position_mm, same.diameter_mm) == (hole.position_mm, hole.diameter_mm)
    # The figure is of the layout's notes, by a scan, and of what the new print scatters besides.
    assert found.reprint.rms_cents > np.sqrt(np.mean([note.cents**2 for note in found.layout.notes]))
    assert found.reprint.gain_cents == pytest.approx(30.0 - found.reprint.rms_cents)
    assert [note.cents for note in predict(found.layout)] == pytest.approx(
        [note.cents for note in found.layout.notes], abs=1e-6
    )
    assert found.reprint.searched


def test_a_body_in_one_is_told(record, problem):
    fit = calibrated(record, heard(record, drawn(played(record), 2), range(len(record.notes)), 2))
    with pytest.raises(Fault, match="the body is one piece"):
        drawn_anew(record, fit, problem.loaded, 10.0, 1.0)
