"""The Stairwell Contra, folded twice, by one solve looked at in its record's own numbers."""

import math

import pytest
from places import CONFIGS

from optimizer.project.loading import load_project
from optimizer.records.steps import largest_step
from optimizer.solving.fitting import Fitting
from optimizer.solving.real_resonances import all_resonances


@pytest.fixture(scope="module")
def record():
    fitting = Fitting(load_project(CONFIGS / "stairwell-contra.toml"))
    return fitting.judged([fitting.solve(0)], "contra")


def test_it_sounds_down_to_b_flat_0_within_its_limits(record):
    # 440 Hz less 47 semitones is 29.14 Hz (ISO 16 for the 440).
    lowest = min(record.notes, key=lambda note: note.target_hz)
    assert (lowest.written, lowest.sounding) == ("C3", "A#0")
    assert lowest.target_hz == pytest.approx(440.0 * 2.0 ** (-47 / 12))
    assert record.feasible
    assert record.objectives["tuning"] < 2.5
    assert record.objectives["worst_note"] < 7.0
    assert largest_step(record.holes, record.notes).percent <= 30.0
    assert {hole.by for hole in record.holes} == {"key"}


def test_its_lowest_resonance_is_among_all_of_them(record):
    lowest = min(record.notes, key=lambda note: note.target_hz)
    (found,) = all_resonances(record, [lowest])
    assert found.frequency[0] == pytest.approx(lowest.frequency_hz, rel=1e-6)


def test_it_stands_in_a_metre_and_its_pieces_on_the_bed(record):
    # On paper: half circles of 27 mm, 13 + 4 mm from axis to surface. The second tube runs up from the low bend, to end
    # 810 - (1815 - 810 - 27 pi) = -110.2 mm below the reed's level; the third runs down from there.
    low, high = record.bore.bends
    lowest = low.at_mm + 27.0 + 17.0
    top = low.at_mm - (high.at_mm - low.at_mm - 27.0 * math.pi)
    foot = top + record.bore.points_mm[-1][0] - high.at_mm - 27.0 * math.pi
    assert top == pytest.approx(-110.2, abs=0.1)
    assert max(foot, lowest) - (top - 27.0 - 17.0) < 1010.0
    assert len(record.pieces) == 8
    assert all(margin >= 0.0 for name, margin in record.margins_mm.items() if name.split(".")[0] == "piece_long")
