"""Which holes to print under size, and by how much, against notes predicted anew for the smaller hole."""

import numpy as np
import pytest
import scipy
from made_records import lined

from optimizer.analysis.reaming import reaming
from optimizer.analysis.sensitivity import sensitivity
from optimizer.project.printer import Printer
from optimizer.records.pieces import PrintingRecord
from optimizer.solving.real_resonances import predict


@pytest.fixture(scope="module")
def printed(record):
    """The practice pipe for a printer whose holes come out 0.3 mm too small after 1 % shrinkage."""
    printer = Printer(shrinkage_percent=1.0, hole_undersize_mm=0.3)
    factors = {"factor_along": printer.factor_along, "factor_across": printer.factor_across}
    printing = PrintingRecord(printer=printer.name, **factors, **printer.model_dump(exclude={"name"}))
    return record.model_copy(update={"printing": printing})


def with_hole(record, number, diameter_mm):
    """A record with one hole of another diameter, straight."""
    holes = list(record.holes)
    sizes = {"diameter_mm": diameter_mm, "top_diameter_mm": diameter_mm}
    holes[number] = holes[number].model_copy(update=sizes)
    return record.model_copy(update={"holes": holes})


def test_a_hole_made_smaller_makes_its_note_flat_with_the_certainty_stated(printed):
    layout = sensitivity(printed)
    advice = reaming(printed, layout, 0.5)
    assert [one.hole for one in advice] == ["g1", "g2", "g3", "g4"]
    sd = np.hypot(layout.spread.making, layout.spread.model)
    before = {note.written: note.cents for note in printed.notes}
    for number, one in enumerate(advice):
        line = [note.written for note in printed.notes].index(one.note)
        after = {note.written: note.cents for note in predict(with_hole(printed, number, one.finished_mm))}
        assert one.flat_cents == pytest.approx(before[one.note] - after[one.note], abs=5e-3)
        assert one.certainty == pytest.approx(scipy.stats.norm.cdf(one.flat_cents / sd[line]), abs=1e-9)
        assert one.certainty >= 0.95
        # No more than it takes: 0.1 mm less under size would not do.
        less = {note.written: note.cents for note in predict(with_hole(printed, number, one.finished_mm + 0.1))}
        assert scipy.stats.norm.cdf((before[one.note] - less[one.note]) / sd[line]) < 0.95
        assert one.under_mm == pytest.approx(printed.holes[number].diameter_mm - one.finished_mm)
        assert one.drawn_mm == pytest.approx((one.finished_mm / 0.99 + 0.3,) * 2, abs=0.0051)
        # 0.1 mm more, as predicted anew, against the slope; the note named is the one that moves most.
        wider = predict(with_hole(printed, number, printed.holes[number].diameter_mm + 0.1))
        moved = {note.written: note.cents - before[note.written] for note in wider}
        assert max(moved, key=lambda name: abs(moved[name])) == one.note
        assert one.cents_per_tenth == pytest.approx(moved[one.note], rel=0.03)
        assert one.moves == pytest.approx({n: c for n, c in moved.items() if n in one.moves}, rel=0.05, abs=0.01)


def test_holes_not_worth_it_or_already_made_are_left(record):
    made = record.model_copy(
        update={"holes": [hole.model_copy(update={"locked": hole.id == "g2"}) for hole in record.holes]}
    )
    layout = sensitivity(made)
    found = {one.hole: one for one in reaming(made, layout, 0.5)}
    assert (found["g2"].reason, found["g2"].under_mm) == ("already made", None)
    assert found["g1"].under_mm is not None
    assert found["g1"].drawn_mm is None
    most = max(abs(one.cents_per_tenth) for one in found.values())
    for one in reaming(record, sensitivity(record), 1.01 * most):
        assert (one.reason, one.under_mm) == ("moves its note too little", None)


def test_a_lined_vent_is_neither_printed_nor_reamed(record):
    # A drawn tube at 0.03 mm in place of a drilled hole at 0.1 mm: 0.3 of what it brought to every note.
    drilled, drawn = sensitivity(record), sensitivity(lined(record, 3))
    column = drilled.may.names.index("diameter of g4")
    assert np.max(np.abs(drilled.by[:, column])) > 0.3
    assert drawn.by[:, column] == pytest.approx(0.3 * drilled.by[:, column], rel=1e-9)
    assert drawn.may.kinds[column] == "vent_diameter_mm"
    others = np.arange(drilled.by.shape[1]) != column
    others[drilled.may.names.index("shrinkage")] = False
    assert drawn.by[:, others] == pytest.approx(drilled.by[:, others], rel=1e-9)
    found = {one.hole: one for one in reaming(lined(record, 3), drawn, 0.5)}
    assert (found["g4"].reason, found["g4"].under_mm) == ("a lined tube, not printed", None)
    assert found["g1"].under_mm is not None
