"""Corrections of one layout, pass after pass, as they are kept in the folder of its run.

`corrections/LAYOUT/` holds of each pass its list, the layout that it was made for, and a table of what was done, to be
put right; and one picture and page of all passes.
"""

from pathlib import Path

from optimizer.project.faults import writing
from optimizer.prototype.bench_done import as_done, done_sheet, read_done
from optimizer.records.correction import CorrectionRecord
from optimizer.records.files import make_private, read_record, write_record, write_text
from optimizer.records.layout import LayoutRecord
from optimizer.records.measurement import layout_mark

Pass = tuple[LayoutRecord, CorrectionRecord | None]
"""A layout to measure against, and the pass that led to it."""


class Passes:
    """Passes of a layout.

    Parameters
    ----------
    run : folder of its run
    printed : the layout
    """

    def __init__(self, run: Path, printed: LayoutRecord) -> None:
        self.printed, self.folder = printed, run / "corrections" / printed.id

    def latest(self, done: Path | None = None) -> Pass:
        """The layout as the last pass left it, by what was done of it.

        Parameters
        ----------
        done : table of that (default: the one kept with the pass)
        """
        count = len(self._made())
        return self._after(count, done) if count else (self.printed, None)

    def of_mark(self, mark: str) -> Pass:
        """The layout with a mark, and the pass that led to it; that of the last pass where none has it."""
        found = [(self.printed, None), *(self._after(number) for number in range(1, len(self._made()) + 1))]
        return next((each for each in reversed(found) if layout_mark(each[0]) == mark), found[-1])

    def keep(self, found: CorrectionRecord, measured: LayoutRecord, page: str, picture: str) -> list[Path]:
        """Write a pass, in place of those from its number on; what was written.

        Parameters
        ----------
        found : the pass
        measured : the layout that it was made for
        page, picture : of all passes so far
        """
        with writing(self.folder):
            make_private(self.folder.parent, exist_ok=True)
            make_private(self.folder, exist_ok=True)
            for number in range(found.number, len(self._made()) + 1):
                for stale in (self._list(number), self._layout(number), self._done(number)):
                    stale.unlink(missing_ok=True)
            write_record(self._list(found.number), found)
            write_record(self._layout(found.number), measured)
            write_text(self._done(found.number), done_sheet(found))
            write_text(self.folder / "history.html", page)
            write_text(self.folder / "history.svg", picture)
        return [self.folder / "history.html", self._done(found.number)]

    def _after(self, number: int, done: Path | None = None) -> Pass:
        earlier = read_record(self._list(number), CorrectionRecord)
        measured = read_record(self._layout(number), LayoutRecord)
        table = done or self._done(number)
        return as_done(measured, earlier, read_done(table, earlier)) if earlier.steps else (measured, earlier)

    def _made(self) -> list[Path]:
        """Lists there are, from the first pass on."""
        found: list[Path] = []
        while (path := self._list(len(found) + 1)).exists():
            found.append(path)
        return found

    def _list(self, number: int) -> Path:
        return self.folder / f"pass-{number}.json"

    def _layout(self, number: int) -> Path:
        return self.folder / f"measured-{number}.json"

    def _done(self, number: int) -> Path:
        return self.folder / f"done-{number}.csv"
