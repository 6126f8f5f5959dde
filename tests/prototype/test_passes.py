"""Passes of a correction: what was done taken in, and the history that a run folder keeps."""

import numpy as np
import pytest
from prototypes import drawn, heard

from optimizer.prototype.bench_done import as_done, done_sheet, read_done
from optimizer.prototype.calibration import calibrated
from optimizer.prototype.changes import Change
from optimizer.prototype.correction import corrected
from optimizer.prototype.measured_table import TableError
from optimizer.prototype.passes import Passes
from optimizer.prototype.played_model import played
from optimizer.records.correction import CorrectionRecord
from optimizer.records.files import read_record
from optimizer.records.measurement import layout_mark
from optimizer.solving.real_resonances import predict


@pytest.fixture(scope="module")
def model(record):
    return played(record)


def fitted(layout, printed, seed):
    instrument = drawn(played(printed), seed)
    return calibrated(layout, heard(layout, instrument, range(len(layout.notes)), seed))


@pytest.fixture(scope="module")
def first(record, problem):
    """The first pass of a pipe that is out of tune."""
    return corrected(record, fitted(record, record, 5), problem.loaded, seconds=1.0)


def filled(first, tmp_path, text):
    path = tmp_path / "done.csv"
    path.write_text(f"step,done_mm,done_mm3\n{text}\n")
    return read_done(path, first[0])


def test_as_told_is_what_the_sheet_says_unless_it_is_put_right(first, tmp_path, record):
    found, told = first
    sheet = tmp_path / "sheet.csv"
    sheet.write_text(done_sheet(found))
    done = read_done(sheet, found)
    assert done == [Change(step.kind, step.place, step.now) for step in found.steps if step.now]
    made, earlier = as_done(record, found, done)
    assert layout_mark(made) == layout_mark(told)
    assert earlier.history[-1].cents == pytest.approx(found.history[-1].cents, abs=0.05)


def test_what_was_done_otherwise_makes_another_layout_and_another_history(first, tmp_path, record):
    # One step twice as far, all others not at all; the notes by a scan of the changed layout.
    found = first[0]
    step = next(step for step in found.steps if step.now)
    column = f"{2 * step.now}," if step.unit == "mm" else f",{2 * step.now}"
    rest = [f"{each.number},{'0,' if each.unit == 'mm' else ',0'}" for each in found.steps if each is not step]
    done = filled(first, tmp_path, "\n".join([f"{step.number},{column}", *rest]))
    assert done == [Change(step.kind, step.place, 2 * step.now)]
    made, earlier = as_done(record, found, done)
    scanned = predict(made)
    cents = [note.cents + scanned[note.line].cents - record.notes[note.line].cents for note in found.notes]
    assert earlier.history[-1].what == "corrected"
    assert earlier.history[-1].cents == pytest.approx(cents, abs=0.01)
    assert earlier.history[-1].rms_cents == pytest.approx(np.sqrt(np.mean(np.square(cents))), abs=0.01)
    assert earlier.history[:-1] == found.history[:-1]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("99,0.1,", "there is no step '99'; the list has 1"),
        ("1,0.1,5", "step 1 is counted in done_"),
        ("1,,", "step 1 is counted in done_"),
        ("one,0.1,", "there is no step 'one'"),
        ("1,0.1 in,", "the unit stands in the header"),
    ],
)
def test_what_cannot_have_been_done_is_told(first, tmp_path, text, said):
    with pytest.raises(TableError, match=said):
        filled(first, tmp_path, text)


def test_what_cannot_be_taken_back_was_not(first, tmp_path):
    found = first[0]
    ream = found.steps[0].model_copy(update={"kind": "ream", "place": "g1", "unit": "mm", "reversible": False})
    with pytest.raises(TableError, match=r"step 1 cannot be taken back, but got -0\.2"):
        filled((found.model_copy(update={"steps": [ream]}), None), tmp_path, "1,-0.2,")


def test_a_run_folder_keeps_pass_after_pass(first, record, problem, tmp_path):
    found, told = first
    passes = Passes(tmp_path, record)
    assert passes.latest() == (record, None)
    passes.keep(found, record, "page", "picture")
    now, earlier = passes.latest()
    assert layout_mark(now) == layout_mark(told)
    second, _ = corrected(now, fitted(now, record, 6), problem.loaded, earlier, seconds=1.0)
    passes.keep(second, now, "page of both", "picture of both")
    assert [stage.what for stage in second.history][:4] == ["designed", "measured", "corrected", "measured"]
    assert (tmp_path / "corrections" / record.id / "history.svg").read_text() == "picture of both"
    # A fit of the layout as printed begins anew, and what came after it goes.
    again, none = passes.of_mark(layout_mark(record))
    assert (again, none) == (record, None)
    passes.keep(found, again, "page", "picture")
    kept = sorted(path.name for path in (tmp_path / "corrections" / record.id).iterdir())
    assert kept == ["done-1.csv", "history.html", "history.svg", "measured-1.json", "pass-1.json"]
    assert read_record(tmp_path / "corrections" / record.id / "pass-1.json", CorrectionRecord) == found
