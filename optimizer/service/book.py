"""The bench book of a run: what was measured of its layouts once they were built, what that said, what was changed.

Each entry is a folder in the run's, which is moved there whole: `entry.json` says what it is, `layout.json` of which
layout, the others hold it. What is taken out of the book stays in the folder under a name that nothing reads.
"""

import re
import shutil
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from os.path import isfile
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from optimizer.records.calibration import CalibrationRecord
from optimizer.records.correction import CorrectionRecord
from optimizer.records.files import SCHEMA_VERSION, Record, RecordError
from optimizer.records.gauge import GaugedRecord
from optimizer.records.impedance import ImpedanceRecord
from optimizer.records.measurement import MeasurementRecord
from optimizer.service.opening import record_of
from optimizer.service.refusals import RefusedError
from optimizer.service.settings import Settings
from optimizer.service.shelf import Shelf

Kind = Literal["recording", "tuner table", "gauge readings", "impedance", "fit", "correction"]
RECORDS: dict[Kind, type[Record]] = {
    "recording": MeasurementRecord,
    "tuner table": MeasurementRecord,
    "gauge readings": GaugedRecord,
    "impedance": ImpedanceRecord,
    "fit": CalibrationRecord,
    "correction": CorrectionRecord,
}
MEASURED: tuple[Kind, ...] = ("recording", "tuner table")
"""Entries that tell cents of notes."""

BOOK, NAME = "book", re.compile(r"[0-9]{3,5}")
ENTRY, LAYOUT, RECORD, TAKES = "entry.json", "layout.json", "record.json", "takes.json"
CORRECTED, PICTURE, PAGE, LEARNED = "corrected.json", "picture.svg", "page.html", "learned.toml"
ENTRIES_MOST = 500


class Done(Record):
    """What was done of a step of a correction, by its number: its amount as measured afterwards, 0 if it was left."""

    number: Annotated[int, Field(ge=1)]
    amount: float


class Entry(Record):
    """What stands in the book.

    layout : id of the layout that it is of; after : entry of the correction that had been carried out, null where none
    title : what it was read from, or made of; based_on : entries that it was made from
    done : of a correction, once it was carried out
    """

    schema_name: Literal["holewright-book-entry"] = "holewright-book-entry"
    schema_version: str = SCHEMA_VERSION
    kind: Kind
    layout: str
    after: str | None = None
    title: str
    written: str
    based_on: list[str] = Field(default_factory=list)
    done: list[Done] | None = None


class Book:
    """The books of all runs."""

    def __init__(self, settings: Settings, shelf: Shelf) -> None:
        self.settings = settings
        self.shelf = shelf
        self._lock = threading.Lock()

    def open(self) -> None:
        """Clear away what a service that was killed had still been reading."""
        shutil.rmtree(self.settings.uploads, ignore_errors=True)

    @contextmanager
    def desk(self) -> Iterator[Path]:
        """An empty folder for as long as something is read or made."""
        self.settings.uploads.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=self.settings.uploads) as place:
            yield Path(place)

    def names(self, run: str) -> list[str]:
        """Names of all entries, the first first."""
        book = self._place(run)
        if not book.is_dir():
            return []
        return sorted((each.name for each in book.iterdir() if _is_entry(each)), key=int)

    def entry(self, run: str, name: str) -> Path:
        """The folder of an entry.

        Raises
        ------
        RefusedError
            404 when there is no such run or entry
        """
        path = self._place(run) / name
        if not NAME.fullmatch(name) or not _is_entry(path):
            raise RefusedError(404, f"the book of run {run} has no entry of that name")
        return path

    def told(self, run: str, name: str) -> Entry:
        """What an entry is; raises as `entry`, and RecordError as `read_record` does."""
        return self.shelf.files.record(self.entry(run, name) / ENTRY, Entry)

    def layout(self, run: str, layout: str, after: str | None) -> Path:
        """The file of a layout as it was built, or as a correction of it left it.

        Raises
        ------
        RefusedError
            404 when there is none, 422 for a correction of another layout
        """
        if after is None:
            return self.shelf.layout(run, layout)
        told = self.told(run, after)
        if told.kind != "correction" or told.layout != layout:
            raise RefusedError(422, f"entry {after} is no correction of layout {layout}")
        return self.entry(run, after) / CORRECTED

    def add(self, run: str, made: Path) -> str:
        """Put a finished folder into the book; its name there.

        Raises
        ------
        RefusedError
            404 when the run went, 422 when its book is full
        """
        with self._lock:
            book, names = self._place(run), self._all(run)
            if len(names) >= ENTRIES_MOST:
                raise RefusedError(422, f"the book of run {run} has {ENTRIES_MOST} entries, and takes no more")
            book.mkdir(mode=0o700, exist_ok=True)
            name = f"{max(map(int, names), default=0) + 1:03d}"
            made.rename(book / name)
        return name

    def change(self, run: str, name: str, made: Path) -> None:
        """Put a finished folder in an entry's place; raises as `entry`."""
        with self._lock:
            place = self.entry(run, name)
            former = place.with_name(f".{name}.former")
            shutil.rmtree(former, ignore_errors=True)
            place.rename(former)
            try:
                made.rename(place)
            except OSError:
                former.rename(place)
                raise
            shutil.rmtree(former, ignore_errors=True)

    def take_out(self, run: str, name: str) -> None:
        """Take an entry out of the book; it stays beside it, with a dot before its name. Raises as `entry`."""
        with self._lock:
            place = self.entry(run, name)
            place.rename(place.with_name(f".{name}"))

    def _place(self, run: str) -> Path:
        path = self.shelf.folder(run) / BOOK
        if path.is_symlink():
            raise RefusedError(404, f"run {run} has no book")
        return path

    def _all(self, run: str) -> list[str]:
        """Names that entries have or had."""
        book = self._place(run)
        found = (each.name.lstrip(".") for each in book.iterdir()) if book.is_dir() else ()
        return [name for name in found if NAME.fullmatch(name)]


def _is_entry(path: Path) -> bool:
    return NAME.fullmatch(path.name) is not None and not path.is_symlink() and isfile(path / ENTRY)


def entry_of(folder: Path) -> Entry:
    """What an entry is.

    Raises
    ------
    RefusedError
        404 when it went or is damaged
    """
    try:
        return record_of(folder / ENTRY, Entry)
    except RecordError:
        raise RefusedError(404, "that entry of the book is gone, or cannot be read") from None
