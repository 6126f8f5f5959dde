"""What was done of a list at the bench: a table of its steps, and the layout as that left it."""

from collections.abc import Sequence
from pathlib import Path

from optimizer.project.faults import Fault
from optimizer.prototype.changes import KINDS, Change, as_corrected
from optimizer.prototype.measured_table import read_table, table_text
from optimizer.prototype.quantities import Quantity
from optimizer.prototype.still_whole import refuse_impossible
from optimizer.records.book_entry import Done
from optimizer.records.correction import CorrectionRecord, CorrectionStep
from optimizer.records.layout import LayoutRecord
from optimizer.records.measurement import layout_mark

MOST = {"mm": 50.0, "mm3": 5000.0}
"""Nothing is changed by more in a pass: common practice, no source."""

DONE = (
    Quantity("step", "", "its number in the list", needed=True),
    Quantity("done", "mm", "what was done of it; 0 where nothing was", False, -MOST["mm"], MOST["mm"]),
    Quantity("done", "mm3", "the same of a reed", False, -MOST["mm3"], MOST["mm3"]),
    Quantity("what", "", "what to do, for a reader"),
)


def done_sheet(record: CorrectionRecord, done: Sequence[Done] | None = None) -> str:
    """The table to be put right: of what was done, everything as told where that was not said."""
    said = None if done is None else {each.number: each.amount for each in done}
    amounts = [step.now if said is None else said.get(step.number, 0.0) for step in record.steps]
    rows = [
        [str(step.number), *("" if step.unit != unit else f"{amount:g}" for unit in ("mm", "mm3")), step.kind]
        for step, amount in zip(record.steps, amounts, strict=True)
    ]
    told = f"{record.instrument}, layout {record.layout}, pass {record.number}: put right what was done otherwise"
    return table_text([each.header for each in DONE], rows, [told, "measure what was done, where you can"])


def read_done(path: Path, earlier: CorrectionRecord) -> list[Change]:
    """Changes as they were done; steps that the table does not name were done as told.

    Parameters
    ----------
    path : of the table
    earlier : the pass whose list it is of

    Raises
    ------
    TableError
        with everything that is wrong with it
    """
    table = read_table(path, "table of what was done", DONE)
    steps = {str(step.number): step for step in earlier.steps}
    done: dict[int, float] = {}
    for row in table.rows:
        step, amounts = steps.get(row.word("step") or ""), [row.number(f"done_{unit}") for unit in ("mm", "mm3")]
        if step is None:
            known = ", ".join(steps) or "none"
            table.problems.say(f"there is no step {row.word('step')!r}; the list has {known}", row.line, "step")
        elif (wrong := _wrong(step, *amounts)) is not None:
            table.problems.say(wrong, row.line)
        elif step.number in done:
            table.problems.say(f"step {step.number} stands twice", row.line, "step")
        else:
            done[step.number] = next(amount for amount in amounts if amount is not None)
    table.problems.refuse()
    changes = [Change(step.kind, step.place, done.get(step.number, step.now)) for step in earlier.steps]
    return [each for each in changes if each.amount]


def _wrong(step: CorrectionStep, mm: float | None, mm3: float | None) -> str | None:
    """What is wrong with what was done of a step."""
    amount, other = (mm3, mm) if step.unit == "mm3" else (mm, mm3)
    if amount is None or other is not None:
        return f"step {step.number} is counted in done_{step.unit}; write what was done there, 0 for nothing"
    return undoable(step, amount)


def undoable(step: CorrectionStep, amount: float) -> str | None:
    """Why so much of a step cannot have been done, whatever the instrument; None where it can."""
    if amount < 0.0 and not KINDS[step.kind].reversible:
        return f"step {step.number} cannot be taken back, but got {amount:g}"
    if abs(amount) > MOST[step.unit]:
        return f"step {step.number} can change by {MOST[step.unit]:g} {step.unit} at the most, but got {amount:g}"
    return None


def as_done(
    record: LayoutRecord, earlier: CorrectionRecord, changes: Sequence[Change]
) -> tuple[LayoutRecord, CorrectionRecord]:
    """The layout as a pass left it, and that pass with what this should have made of the notes in its history.

    Parameters
    ----------
    record : the layout that the pass was made for
    earlier : the pass
    changes : what was done

    Raises
    ------
    Fault
        for another layout than the list's, and for what leaves no instrument
    """
    if layout_mark(record) != earlier.layout_mark:
        raise Fault("what was done goes with the layout that its list was made for; this is another one")
    refuse_impossible(record, changes)
    try:
        made = as_corrected(record, changes, earlier.number)
    except ValueError as error:
        raise Fault(f"what was done leaves an instrument that does not sound: {error}") from None
    last = earlier.history[-1]
    before = earlier.history[:-1] if last.what == "corrected" else earlier.history
    if before is earlier.history and not changes:
        return made, earlier
    moved = {line: (note.cents or 0.0) - (record.notes[line].cents or 0.0) for line, note in enumerate(made.notes)}
    cents = [note.cents + moved[note.line] for note in earlier.notes if not note.alternate]
    stage = last.model_copy(
        update={
            "what": "corrected",
            "number": earlier.number,
            "cents": [round(each, 3) for each in cents],
            "worst_cents": max(map(abs, cents)),
            "rms_cents": (sum(each**2 for each in cents) / len(cents)) ** 0.5,
        }
    )
    return made, earlier.model_copy(update={"history": [*before, stage]})
