"""Passes of a correction: what was done taken in, and the history that a run folder keeps."""

import numpy as np
import pytest
from prototypes import drawn, heard

from optimizer.project.faults import Fault
from optimizer.prototype.bench_done import as_done, done_sheet, read_done
from optimizer.prototype.calibration import calibrated
from optimizer.prototype.changes import Change
from optimizer.prototype.correction import corrected
from optimizer.prototype.measured_table import TableError
from optimizer.prototype.passes import Passes, Standing
from optimizer.prototype.played_model import played
from optimizer.records.book_entry import DONE, ENTRY, RECORD, Done
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


def test_what_was_done_of_a_list_that_said_to_wait_is_history_too(first, record):
    found = first[0]
    wait = found.model_copy(update={"history": found.history[:-1]})
    nothing = as_done(record, wait, [])[1]
    assert nothing.history == wait.history
    done = [Change("ream", record.holes[0].id, 0.2)]
    made, earlier = as_done(record, wait, done)
    stage = earlier.history[-1]
    assert (stage.what, stage.number, len(earlier.history)) == ("corrected", 1, len(wait.history) + 1)
    cents = [note.cents + made.notes[note.line].cents - record.notes[note.line].cents for note in found.notes]
    assert stage.cents == pytest.approx(cents, abs=0.001)


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


def drawings(found):
    return f"page of pass {found.number}", "picture"


def test_a_bench_book_keeps_pass_after_pass(first, record, problem, tmp_path):
    found, told = first
    passes, printed = Passes(tmp_path, record, drawings), fitted(record, record, 5)
    assert passes.latest() == Standing(record)
    page, table = passes.keep(found, passes.latest(), told, printed, "notes.csv")
    assert page.read_text() == "page of pass 1"
    assert table.read_text() == done_sheet(found)
    now = passes.latest()
    assert (now.layout, now.earlier, now.entry) == (told, found, "002")
    second, left = corrected(now.layout, fitted(now.layout, record, 6), problem.loaded, now.earlier, seconds=1.0)
    passes.keep(second, now, left, fitted(now.layout, record, 6), "again.csv")
    assert [stage.what for stage in second.history][:4] == ["designed", "measured", "corrected", "measured"]
    # A fit of the layout as printed begins anew; what came after it stays in the book, and the fit stands there once.
    again = passes.of_mark(layout_mark(record))
    assert again == Standing(record)
    passes.keep(found, again, told, printed, "notes.csv")
    entries = [passes.book.told(name) for name in passes.book.names()]
    assert [each.kind for each in entries] == ["fit", "correction", "fit", "correction", "correction"]
    assert [each.after for each in entries] == [None, None, "002", "002", None]
    assert entries[-1].based_on == ["001"]
    assert passes.latest().earlier == found


def test_a_table_put_right_in_the_book_counts_from_then_on(first, record, tmp_path):
    found, told = first
    passes = Passes(tmp_path, record, drawings)
    with pytest.raises(Fault, match="has no list for layout"):
        passes.take_in(tmp_path / "done.csv")
    _, table = passes.keep(found, passes.latest(), told, fitted(record, record, 5), "notes.csv")
    passes.take_in()
    assert passes.book.told("002").done is None
    step = next(step for step in found.steps if step.now)
    table.write_text(done_sheet(found, [Done(number=step.number, amount=2 * step.now)]))
    passes.take_in()
    assert passes.book.told("002").done == [Done(number=step.number, amount=2 * step.now)]
    by_hand, _ = as_done(record, found, [Change(step.kind, step.place, 2 * step.now)])
    assert layout_mark(passes.latest().layout) == layout_mark(by_hand)
    # A spreadsheet that does not write UTF-8 is told, as every table is.
    kept = table.read_bytes()
    table.write_bytes(kept + b"# ge\xe4ndert\n")
    with pytest.raises(TableError, match="UTF-8"):
        passes.take_in()
    table.write_bytes(kept)
    # A table from elsewhere is of the last pass.
    (tmp_path / "none.csv").write_text(done_sheet(found, []))
    passes.take_in(tmp_path / "none.csv")
    assert passes.book.told("002").done == []


@pytest.mark.parametrize(
    ("kind", "place", "amount", "said"),
    [
        ("ream", "g1", 40.0, "g1 would be"),
        ("ring", "g1", 30.0, "g1 would be"),
        ("bell cut", "", 200.0, "its bell would end before its last hole"),
        ("reed", "", -4000.0, "its reed would hold less than nothing"),
        ("lining", "bore of the body", 40.0, "its bore would be closed"),
    ],
)
def test_what_would_leave_no_instrument_is_refused(first, record, kind, place, amount, said):
    with pytest.raises(Fault, match=said):
        as_done(record, first[0], [Change(kind, place, amount)])


@pytest.fixture
def kept(first, record, tmp_path):
    """A run with a fit and a correction in its book."""
    passes = Passes(tmp_path, record, lambda found: ("page", "picture"))
    passes.keep(*first[:1], Standing(record), first[1], fitted(record, record, 5), "notes.csv")
    return passes


def test_an_entry_that_cannot_be_read_stops_no_correction_unless_it_may_be_one(kept):
    fit, correction = (kept.book.entry(name) for name in kept.book.names())
    (fit / ENTRY).write_text("{", encoding="utf-8")
    kept.take_in()
    assert kept.latest().entry == correction.name
    (correction / ENTRY).write_text("{", encoding="utf-8")
    with pytest.raises(Fault, match=r"entry.json cannot be read.*It was a pass of a correction"):
        kept.take_in()


def test_a_pass_that_cannot_be_read_is_left_aside_where_a_later_one_tells_what_became_of_it(kept, first, record):
    _, correction = (kept.book.entry(name) for name in kept.book.names())
    kept.keep(first[0], kept.latest(), first[1], fitted(record, record, 5), "again.csv")
    (correction / ENTRY).write_text("{", encoding="utf-8")
    kept.take_in()
    assert kept.latest().entry == "003"
    (said,) = kept.remarks
    assert "002" in said.split("It was a pass")[0]
    assert said.endswith("left aside: entry 003 tells what became of the instrument since")


def test_a_last_pass_that_cannot_be_read_is_no_less_in_the_way_for_an_earlier_one(kept, first, record):
    kept.keep(first[0], kept.latest(), first[1], fitted(record, record, 5), "again.csv")
    (kept.book.entry("003") / ENTRY).write_text("{", encoding="utf-8")
    with pytest.raises(Fault, match=r"003.*It was a pass of a correction: mend its file"):
        kept.take_in()
    assert kept.remarks == []


def test_a_pass_of_another_layout_that_cannot_be_read_stands_in_nobodys_way(kept, first, record):
    _, correction = (kept.book.entry(name) for name in kept.book.names())
    (correction / ENTRY).write_text("{", encoding="utf-8")
    other = Passes(correction.parent.parent, record.model_copy(update={"id": "t00009"}), drawings)
    other.take_in()
    assert (other.latest().entry, other.remarks) == (None, [])


def test_a_table_put_right_after_a_later_pass_is_told_to_have_come_too_late(kept, first, record):
    found, told = first
    kept.keep(found, kept.latest(), told, fitted(record, record, 5), "again.csv")
    left = kept.latest()
    table = kept.book.entry("002") / DONE
    table.write_text(done_sheet(found, []))
    kept.take_in()
    (said,) = kept.remarks
    assert said.startswith("what was done in entry 002 was put right; 003 was made from what it left before")
    assert kept.latest() == left
    again = Passes(kept.book.folder.parent, record, drawings)
    again.take_in()
    assert again.remarks == []


def test_a_fit_that_cannot_be_read_is_kept_anew(kept, first, record):
    fit, _ = (kept.book.entry(name) for name in kept.book.names())
    (fit / RECORD).write_text("{", encoding="utf-8")
    kept.keep(first[0], Standing(record), first[1], fitted(record, record, 5), "notes.csv")
    assert [kept.book.told(name).kind for name in kept.book.names()] == ["fit", "correction"] * 2


def test_passes_as_no_release_wrote_them_are_told(kept, tmp_path):
    (tmp_path / "corrections").mkdir()
    with pytest.raises(Fault, match="no release has written them"):
        kept.take_in()
