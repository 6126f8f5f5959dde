"""What a stretch of the bore does to the notes when it comes out wider: against the layout computed anew."""

from itertools import pairwise

import numpy as np
import pytest
from shaped import SHAPED
from shelf import pipe

from acoustics.pitch import cents_between
from optimizer.analysis.bore_tolerance import bore_tolerance
from optimizer.solving.assemble import assemble
from optimizer.solving.problem import Problem
from optimizer.solving.real_resonances import predict
from optimizer.views.table import markdown
from optimizer.views.tolerance_tables import bore_tolerance_table


@pytest.fixture(scope="module")
def record():
    """The pipe in pieces, as its ranges' middles have it."""
    problem = Problem(pipe(SHAPED))
    coding = problem.parametrisation
    return assemble(problem, 0.5 * (coding.low + coding.high), "t1", {})


def widened(record, low, high, by):
    """The record with its bore wider from low to high [mm]."""
    places, diameters = np.array(record.bore.points_mm).T
    ends = [low, low, high, high]
    knots = [(s, float(np.interp(s, places, diameters)) + more) for s, more in zip(ends, (0, by, by, 0), strict=True)]
    points = [(s, d + by * (low < s < high)) for s, d in record.bore.points_mm if s not in (low, high)]
    points = sorted([*points, *knots], key=lambda point: point[0])
    return record.model_copy(update={"bore": record.bore.model_copy(update={"points_mm": points})})


def test_stretches_part_the_whole_bore_piece_by_piece(record):
    found = bore_tolerance(record)
    assert [found[0].from_mm, found[-1].to_mm] == [0.0, record.bore.points_mm[-1][0]]
    assert all(one.to_mm == other.from_mm for one, other in pairwise(found))
    assert [one.part for one in found[:3]] == ["the staple", "the crook", "piece 1"]
    assert all(one.to_mm - one.from_mm <= 75.0 for one in found)


def test_a_wider_stretch_moves_notes_as_computed_anew(record):
    # Half of what 0.1 mm more and 0.1 mm less make together, so that curvature cancels.
    found = bore_tolerance(record)
    for one in (found[1], found[3]):
        wide, narrow = (predict(widened(record, one.from_mm, one.to_mm, by)) for by in (0.1, -0.1))
        pairs = zip(wide, narrow, strict=True)
        cents = {more.written: 0.5 * cents_between(more.frequency_hz, less.frequency_hz) for more, less in pairs}
        assert one.moves == pytest.approx(cents, rel=0.01, abs=0.02)
        assert one.cents_per_tenth == pytest.approx(max(one.moves.values(), key=abs))
        assert one.rms_cents == pytest.approx(np.sqrt(np.mean(np.square(list(cents.values())))), rel=0.02)


def test_the_table_says_what_to_measure_first(record):
    table = bore_tolerance_table(bore_tolerance(record))
    most = max(bore_tolerance(record), key=lambda one: one.rms_cents)
    assert table.notes[0].startswith(f"measure first, with pins: {most.part} from {most.from_mm:.0f}")
    assert markdown(table).count("\n") == len(bore_tolerance(record)) + 1
