"""Corrections of one layout, pass after pass, as the bench book of its run keeps them.

Each pass is an entry: its list, the layout that it was made for and the one that it left, and a table of what was done,
to be put right. What the service wrote counts as what a command did.
"""

from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from optimizer.project.faults import Fault
from optimizer.prototype.bench_done import as_done, done_sheet, read_done
from optimizer.prototype.changes import Change
from optimizer.prototype.learned_file import learned_toml
from optimizer.records.bench_book import BenchBook
from optimizer.records.book_entry import (
    CORRECTED,
    DONE,
    ENTRY,
    LAYOUT,
    LEARNED,
    PAGE,
    PICTURE,
    RECORD,
    Done,
    Entry,
    Kind,
)
from optimizer.records.calibration import CalibrationRecord
from optimizer.records.correction import CorrectionRecord
from optimizer.records.files import RecordError, read_record, write_record, write_text
from optimizer.records.layout import LayoutRecord
from optimizer.records.measurement import layout_mark
from optimizer.search.run_folder import now

OF_NO_RELEASE = (
    "{} holds passes as no release has written them, and they are not read: move that folder away and measure the "
    "instrument anew; its layout as it is now is one of `holewright present`"
)
MAY_BE_A_PASS = "{}. It was a pass of a correction: mend its file, or take it out by moving {} out of the book"
LEFT_ASIDE = "{}. It was a pass of a correction, and is left aside: entry {} tells what became of the instrument since"
TOO_LATE = (
    "what was done in entry {} was put right; {} was made from what it left before, and stays as it is: measure the "
    "notes once more, and the next list goes by what they say"
)

Drawn = Callable[[CorrectionRecord], tuple[str, str]]
"""The page and the picture of a list."""


class Standing(NamedTuple):
    """Where an instrument stands: the layout to measure against, the pass that led there and its entry; None as
    printed."""

    layout: LayoutRecord
    earlier: CorrectionRecord | None = None
    entry: str | None = None


class Passes:
    """Passes of a layout.

    Parameters
    ----------
    run : folder of its run
    printed : the layout
    drawn : draws a list

    Attributes
    ----------
    remarks : sentences on what `take_in` found
    """

    def __init__(self, run: Path, printed: LayoutRecord, drawn: Drawn) -> None:
        self.remarks: list[str] = []
        self.book, self.printed, self.drawn = BenchBook(run), printed, drawn
        self._before_the_book = run / "corrections"

    def take_in(self, done: Path | None = None) -> None:
        """Take in what was done, where a table of it was put right since.

        Parameters
        ----------
        done : table of the last pass (default: the one in its entry)

        Raises
        ------
        Fault
            for a table where there is no pass, and for passes that cannot be read
        """
        if self._before_the_book.is_dir():
            raise Fault(OF_NO_RELEASE.format(self._before_the_book))
        names = self._entries("correction")
        if done is not None and not names:
            raise Fault(f"the book has no list for layout {self.printed.id} yet, so nothing can have been done of one")
        for name in names:
            own = self.book.entry(name) / DONE
            table = done if done is not None and name == names[-1] else own
            if table.is_file() and self._note(name, table):
                later = [each for each in names if self.book.told(each).after == name]
                self.remarks += [TOO_LATE.format(name, each) for each in later]

    def latest(self) -> Standing:
        """The layout as the last pass left it."""
        names = self._entries("correction")
        return self._after(names[-1]) if names else Standing(self.printed)

    def of_mark(self, mark: str) -> Standing:
        """The layout with a mark, and the pass that led to it; that of the last pass where none has it."""
        found = [Standing(self.printed), *map(self._after, self._entries("correction"))]
        return next((each for each in reversed(found) if layout_mark(each.layout) == mark), found[-1])

    def keep(
        self, found: CorrectionRecord, at: Standing, left: LayoutRecord, fit: CalibrationRecord, source: str
    ) -> list[Path]:
        """Write a pass and the fit that it was made from, where the book does not have that yet; what was written.

        Parameters
        ----------
        found : the pass
        at : what was measured
        left : the layout that it leaves
        fit, source : what was found of it, and by which file
        """
        fitted = next((each for each in self._entries("fit") if self._fit_of(each) == fit), None)
        if fitted is None:
            with self.book.desk() as made:
                write_record(made / RECORD, fit)
                write_record(made / LAYOUT, at.layout)
                write_text(made / LEARNED, learned_toml(fit.learned))
                write_record(made / ENTRY, self._entry("fit", at, f"fit of {source}", []))
                fitted = self.book.add(made)
        with self.book.desk() as made:
            told = self._entry("correction", at, f"correction of {fitted}", [fitted])
            write_pass(made, found, (at.layout, left), told, self.drawn)
            place = self.book.folder / self.book.add(made)
        return [place / PAGE, place / DONE]

    def _entry(self, kind: Kind, at: Standing, title: str, based_on: list[str]) -> Entry:
        return Entry(kind=kind, layout=self.printed.id, after=at.entry, title=title, written=now(), based_on=based_on)

    def _note(self, name: str, table: Path) -> bool:
        """Take in a table of what was done; whether it says anything new."""
        place, told = self.book.entry(name), self.book.told(name)
        found, measured = read_record(place / RECORD, CorrectionRecord), read_record(place / LAYOUT, LayoutRecord)
        if table.parent == place and table.read_bytes() == done_sheet(found, told.done).encode():
            return False
        changes = read_done(table, found)
        left, so_far = as_done(measured, found, changes)
        told = told.model_copy(update={"done": done_of(found, changes)})
        with self.book.desk() as made:
            write_pass(made, so_far, (measured, left), told, self.drawn)
            self.book.change(name, made)
        return True

    def _after(self, name: str) -> Standing:
        left = read_record(self.book.entry(name) / CORRECTED, LayoutRecord)
        return Standing(left, read_record(self.book.entry(name) / RECORD, CorrectionRecord), name)

    def _fit_of(self, name: str) -> CalibrationRecord | None:
        try:
            return read_record(self.book.entry(name) / RECORD, CalibrationRecord)
        except RecordError:
            return None

    def _entries(self, kind: Kind) -> list[str]:
        """Entries of a kind that are of this layout. One that cannot be read stands in nobody's way, unless it may be
        the last pass of this layout: what was done of that, the next list has to know."""
        found, unread = [], dict[str, RecordError]()
        for name in self.book.names():
            try:
                told = self.book.told(name)
            except RecordError as error:
                if (self.book.entry(name) / CORRECTED).exists():
                    unread[name] = error
                continue
            if told.kind == kind and told.layout == self.printed.id:
                found.append(name)
        if kind == "correction":
            for name, trouble in unread.items():
                self._leave_aside(name, trouble, found)
        return found

    def _leave_aside(self, name: str, trouble: RecordError, readable: Sequence[str]) -> None:
        """Go on without a pass that cannot be read where it is of another layout, or a later one tells what became of
        the instrument; raises Fault where neither is so."""
        with suppress(RecordError):
            if read_record(self.book.entry(name) / LAYOUT, LayoutRecord).id != self.printed.id:
                return
        later = [each for each in readable if int(each) > int(name)]
        if not later:
            raise Fault(MAY_BE_A_PASS.format(trouble, self.book.entry(name))) from None
        said = LEFT_ASIDE.format(trouble, later[-1])
        if said not in self.remarks:
            self.remarks.append(said)


def write_pass(
    made: Path, found: CorrectionRecord, layouts: tuple[LayoutRecord, LayoutRecord], told: Entry, drawn: Drawn
) -> None:
    """Write a pass as an entry of a bench book.

    Parameters
    ----------
    made : an empty folder
    found : the list
    layouts : what it was made for, and what it leaves
    told : what the entry is
    drawn : draws the list
    """
    page, picture = drawn(found)
    write_record(made / ENTRY, told)
    write_record(made / RECORD, found)
    write_record(made / LAYOUT, layouts[0])
    write_record(made / CORRECTED, layouts[1])
    write_text(made / DONE, done_sheet(found, told.done))
    write_text(made / PAGE, page)
    write_text(made / PICTURE, picture)


def done_of(found: CorrectionRecord, changes: Sequence[Change]) -> list[Done]:
    """What was done of a list, by its steps."""
    amounts = {(each.kind, each.place): each.amount for each in changes}
    return [
        Done(number=step.number, amount=amounts[step.kind, step.place])
        for step in found.steps
        if (step.kind, step.place) in amounts
    ]
