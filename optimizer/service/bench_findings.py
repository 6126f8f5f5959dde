"""What is worked out for the bench book, in the workshop: fits, corrections, and what was done of them.

Each function fills an empty folder, `made`, as those of `bench_work` do.
"""

from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from optimizer.records.book_entry import LAYOUT, LEARNED, MEASURED, RECORD, Done, Entry, Kind
from optimizer.records.calibration import CalibrationRecord
from optimizer.records.correction import CorrectionRecord, CorrectionStep
from optimizer.records.files import write_record, write_text
from optimizer.records.gauge import GaugedRecord
from optimizer.records.measurement import MeasurementRecord
from optimizer.search.run_folder import now
from optimizer.service.bench_work import refused, write_entry
from optimizer.service.book import entry_of
from optimizer.service.opening import record_of
from optimizer.service.refusals import Finding, RefusedError
from optimizer.service.studies import project_of_run
from optimizer.service.work import layout_read


def fitted(entry: Path, sizes: Sequence[Path], next_steps: int, made: Path) -> None:
    """What a measurement of notes says of reed, air, bore and holes, beside entries of what gauges read.

    Raises
    ------
    RefusedError
        404 when an entry went, 422 for one that tells no notes or sizes, for sizes of another layout, and for too few
        notes
    """
    from optimizer.prototype.calibration import calibrated
    from optimizer.prototype.learned_file import learned_toml

    told = _of_kind(entry, MEASURED, "measurement of notes")
    for each in sizes:
        if _of_kind(each, ("gauge readings",), "table of gauge readings").layout != told.layout:
            raise RefusedError(422, f"entry {each.name} of the book is of another layout")
    with refused(entry):
        record, heard = layout_read(entry / LAYOUT), record_of(entry / RECORD, MeasurementRecord)
        gauged = [value for each in sizes for value in record_of(each / RECORD, GaugedRecord).values]
        found = calibrated(record, heard, gauged, next_steps)
    write_record(made / RECORD, found)
    write_text(made / LEARNED, learned_toml(found.learned))
    write_entry(made, entry / LAYOUT, _from(told, "fit", entry, *sizes))


def corrected(run: Path, entry: Path, earlier: Path | None, seconds: float, made: Path) -> None:
    """The few changes that bring a fitted instrument into tune, each choice in so many seconds.

    Raises
    ------
    RefusedError
        404 when an entry went, 422 for one that is no fit, and a project that cannot be read any more
    """
    from optimizer.prototype.correction import corrected as worked_out
    from optimizer.prototype.passes import write_pass

    told = _of_kind(entry, ("fit",), "fit")
    before = None if earlier is None else record_of(earlier / RECORD, CorrectionRecord)
    with refused(entry):
        record, fit = layout_read(entry / LAYOUT), record_of(entry / RECORD, CalibrationRecord)
        found, layout = worked_out(record, fit, project_of_run(run, None), before, seconds=seconds)
    write_pass(made, found, (record, layout), _from(told, "correction", entry), _drawn)


def _drawn(found: CorrectionRecord) -> tuple[str, str]:
    from optimizer.views.correction_page import correction_page, history_picture

    return correction_page(found), history_picture(found)


def carried_out(entry: Path, done: Sequence[Done], made: Path) -> None:
    """A correction as it was carried out: its history follows, and the layout that is measured next.

    Raises
    ------
    RefusedError
        404 when the entry went, 422 for one that is no correction, for steps that it does not have, and for what leaves
        no instrument
    """
    from optimizer.prototype.bench_done import as_done
    from optimizer.prototype.changes import Change
    from optimizer.prototype.passes import write_pass

    told = _of_kind(entry, ("correction",), "correction")
    found, record = record_of(entry / RECORD, CorrectionRecord), layout_read(entry / LAYOUT)
    steps = {step.number: step for step in found.steps}
    wrong = [said for each in done if (said := _undoable(each, steps.get(each.number)))]
    often = Counter(each.number for each in done)
    wrong += [f"step {number} stands {many} times" for number, many in often.items() if many > 1]
    if wrong:
        raise RefusedError(422, "what was done cannot be", [Finding(path="steps", message=line) for line in wrong])
    changes = [Change(steps[each.number].kind, steps[each.number].place, each.amount) for each in done if each.amount]
    with refused(entry):
        layout, so_far = as_done(record, found, changes)
    write_pass(made, so_far, (record, layout), told.model_copy(update={"done": list(done)}), _drawn)


def _undoable(done: Done, step: CorrectionStep | None) -> str | None:
    """Why a step cannot have come to that; None where it can."""
    from optimizer.prototype.bench_done import undoable

    return f"the list has no step {done.number}" if step is None else undoable(step, done.amount)


def _of_kind(entry: Path, kinds: Sequence[Kind], words: str) -> Entry:
    told = entry_of(entry)
    if told.kind not in kinds:
        raise RefusedError(422, f"entry {entry.name} of the book is no {words}, but: {told.kind}")
    return told


def _from(told: Entry, kind: Kind, *entries: Path) -> Entry:
    """An entry that follows from others, the first of which it is named after."""
    names = [each.name for each in entries]
    beside = f" with {', '.join(names[1:])}" if names[1:] else ""
    return Entry(
        kind=kind, layout=told.layout, after=told.after, title=f"{kind} of {names[0]}{beside}", written=now(),
        based_on=names,
    )  # fmt: skip
