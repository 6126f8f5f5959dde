"""What is read for the bench book, in the workshop: files of measurements, and the sheets that they are filled in on.

Each function fills an empty folder, `made`, with what the entry is to hold; who called puts it into the book.
"""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

from optimizer.project.faults import Fault
from optimizer.project.loading import ProjectError
from optimizer.records.book_entry import ENTRY, LAYOUT, PICTURE, RECORD, TAKES, Entry
from optimizer.records.files import Record, write_record, write_text
from optimizer.records.layout import LayoutRecord
from optimizer.records.measurement import MeasurementRecord
from optimizer.records.takes import TakesRecord
from optimizer.search.run_folder import now
from optimizer.service.bench_files import kind_of
from optimizer.service.book import entry_of
from optimizer.service.opening import record_of
from optimizer.service.refusals import Finding, RefusedError
from optimizer.service.work import layout_read


class Given(NamedTuple):
    """What is said of a file that was sent; None: as the file says, or the layout."""

    a4_hz: float | None
    temperament: str | None
    bell_degC: float | None
    note: str | None
    order: str | None


class Of(NamedTuple):
    """A layout by its file, and the entry of the correction that left it so."""

    layout: Path
    after: str | None


def taken_in(file: Path, of: Of, given: Given, made: Path) -> None:
    """A file that was sent, read as what it is.

    Raises
    ------
    RefusedError
        404 when the layout went, 422 with what is wrong with the file
    """
    record = layout_read(of.layout)
    with refused(file.parent):
        kind = kind_of(file)
        title = _READERS[kind](file, record, given, made)
    write_entry(made, of.layout, Entry(kind=kind, layout=record.id, after=of.after, title=title, written=now()))


def _heard(file: Path, record: LayoutRecord, given: Given, made: Path) -> str:
    from optimizer.hearing.kept_takes import takes_record
    from optimizer.hearing.session import measured
    from optimizer.hearing.wanted import lines_of, read_order

    order = []
    if given.order and given.order.strip():
        listed = file.parent.parent / "notes in order"
        listed.write_text(given.order, encoding="utf-8")
        order = read_order(listed, lines_of(record, given.a4_hz or record.reference.a4_hz))
    session = measured(record, [file], order, given.a4_hz, given.bell_degC)
    _write_session(made, session.measurement, takes_record(session, record), record)
    return session.measurement.source


def _write_session(made: Path, measurement: MeasurementRecord, takes: TakesRecord, record: LayoutRecord) -> None:
    from optimizer.hearing.kept_takes import session_of
    from optimizer.views.drawings.takes import takes_drawing

    write_record(made / RECORD, measurement)
    write_record(made / TAKES, takes)
    write_text(made / PICTURE, takes_drawing(session_of(takes, record)).to_svg())


def _from_tuner(file: Path, record: LayoutRecord, given: Given, made: Path) -> str:
    from optimizer.prototype.tuner_table import Tuner, read_tuner_table

    found = read_tuner_table(file, record, Tuner(given.a4_hz, given.temperament, given.bell_degC))
    write_record(made / RECORD, found)
    return found.source


def _gauged(file: Path, record: LayoutRecord, _given: Given, made: Path) -> str:
    from optimizer.prototype.gauged_layout import gauged

    write_record(made / RECORD, gauged(record, file))
    return f"gauge readings {file.name}"


def _impedance(file: Path, record: LayoutRecord, given: Given, made: Path) -> str:
    from optimizer.prototype.impedance_file import read_impedance
    from optimizer.prototype.impedance_match import matched
    from optimizer.prototype.impedance_told import conditions
    from optimizer.views.drawings.impedance import impedance_svg

    read = read_impedance(file)
    found = matched(record, read, file.name, conditions(record, read.remarks, given.note, given.bell_degC))
    write_record(made / RECORD, found)
    write_text(made / PICTURE, impedance_svg(found))
    return f"impedance {file.name}"


_READERS = {"recording": _heard, "tuner table": _from_tuner, "gauge readings": _gauged, "impedance": _impedance}


def joined(entry: Path, more: Path, made: Path) -> None:
    """An entry of recordings with the takes of another one, read but not in the book yet.

    Raises
    ------
    RefusedError
        404 when an entry went, 422 where one is no recording of that layout
    """
    from optimizer.hearing.kept_takes import joined as as_one
    from optimizer.hearing.kept_takes import session_of, takes_record

    told, record = entry_of(entry), layout_read(entry / LAYOUT)
    with refused(entry):
        both = as_one(session_of(_takes(entry), record), session_of(_takes(more), record), record)
    _write_session(made, both.measurement, takes_record(both, record), record)
    write_entry(made, entry / LAYOUT, told.model_copy(update={"title": both.measurement.source}))


def put_right(entry: Path, chosen: Mapping[tuple[int, int], int | None], made: Path) -> None:
    """An entry of recordings with other notes for some of its tones; raises as `joined`."""
    from optimizer.hearing.kept_takes import put_right as session_right
    from optimizer.hearing.kept_takes import session_of, takes_record

    told, record = entry_of(entry), layout_read(entry / LAYOUT)
    with refused(entry):
        right = session_right(session_of(_takes(entry), record), record, chosen)
    _write_session(made, right.measurement, takes_record(right, record), record)
    write_entry(made, entry / LAYOUT, told)


def _takes(entry: Path) -> TakesRecord:
    if entry_of(entry).kind != "recording":
        raise RefusedError(422, "that entry of the book is no recording")
    return record_of(entry / TAKES, TakesRecord)


def bench_table(layout: Path, passes: int, seed: int) -> str:
    """A tuner table to fill in, the most telling notes first.

    Raises
    ------
    RefusedError
        404 when the layout went, 422 when it does not sound
    """
    from optimizer.prototype.bench_sheet import bench_csv, bench_order
    from optimizer.prototype.first_notes import first_notes

    record = layout_read(layout)
    try:
        first = [step.name for step in first_notes(record, passes)]
    except ValueError as error:
        raise RefusedError(422, str(error)) from None
    return bench_csv(record, bench_order(record, seed, first), passes)


def gauge_table(layout: Path) -> str:
    """A table of gauge readings to fill in; raises as `layout_read`."""
    from optimizer.prototype.gauged_layout import sheet

    return sheet(layout_read(layout))


def write_entry(made: Path, layout: Path, told: Record) -> None:
    """Say what an entry is, and keep the layout that it is of."""
    record = layout_read(layout)
    write_record(made / LAYOUT, record)
    write_record(made / ENTRY, told)


@contextmanager
def refused(*places: Path) -> Iterator[None]:
    """Refuse for a fault, without the folders of this machine; a project's own is for its caller to tell.

    Raises
    ------
    RefusedError
        422 with the fault's sentences
    """
    try:
        yield
    except ProjectError:
        raise
    except Fault as fault:
        said = [_without(sentence, places) for sentence in fault.problems]
        if len(said) == 1 and not fault.heading:
            raise RefusedError(422, said[0]) from None
        heading = fault.heading or "this cannot be used"
        raise RefusedError(422, heading, [Finding(path="", message=sentence) for sentence in said]) from None


def _without(sentence: str, places: Sequence[Path]) -> str:
    for place in places:
        sentence = sentence.replace(f"{place}/", "")
    return sentence
