"""The bench books of all runs: which run and which entry a request names, and whose turn it is to change one."""

import asyncio
import shutil
import tempfile
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager, contextmanager
from pathlib import Path
from weakref import WeakValueDictionary

from optimizer.project.faults import Fault
from optimizer.records.bench_book import BenchBook
from optimizer.records.book_entry import CORRECTED, ENTRY, Entry
from optimizer.records.files import RecordError
from optimizer.service.opening import bytes_of, record_of
from optimizer.service.refusals import RefusedError
from optimizer.service.settings import Settings
from optimizer.service.shelf import Shelf
from optimizer.service.workshop import QUEUED_MOST


class _Turn:
    """Whose turn it is to change an entry, and how many want it."""

    def __init__(self) -> None:
        self.lock = asyncio.Lock()
        self.wanted = 0


class Book:
    """The books of all runs."""

    def __init__(self, settings: Settings, shelf: Shelf) -> None:
        self.settings = settings
        self.shelf = shelf
        self._turns: WeakValueDictionary[tuple[str, str], _Turn] = WeakValueDictionary()

    def open(self) -> None:
        """Clear away what a service that was killed had still been reading."""
        shutil.rmtree(self.settings.uploads, ignore_errors=True)

    @asynccontextmanager
    async def desk(self) -> AsyncIterator[Path]:
        """An empty folder for as long as something is read or made; made and cleared away in threads."""
        place = await asyncio.to_thread(self._desk)
        try:
            yield place
        finally:
            await asyncio.to_thread(shutil.rmtree, place, ignore_errors=True)

    def _desk(self) -> Path:
        self.settings.uploads.mkdir(parents=True, exist_ok=True)
        return Path(tempfile.mkdtemp(dir=self.settings.uploads))

    def of(self, run: str) -> BenchBook:
        """The book of a run; raises RefusedError (404) when there is no such run."""
        return BenchBook(self.shelf.folder(run), bytes_of)

    @asynccontextmanager
    async def turn(self, run: str, name: str) -> AsyncIterator[None]:
        """Held by who reads an entry and puts it anew, so that no other one does the same meanwhile.

        Raises
        ------
        RefusedError
            503 when too many wait for the same
        """
        turn = self._turns.setdefault((run, name), _Turn())
        if turn.wanted >= QUEUED_MOST:
            raise RefusedError(503, f"too many are changing entry {name}; try again in a moment")
        turn.wanted += 1
        try:
            async with turn.lock:
                yield
        finally:
            turn.wanted -= 1

    def entry(self, run: str, name: str) -> Path:
        """The folder of an entry.

        Raises
        ------
        RefusedError
            404 when there is no such run or entry
        """
        with _refused():
            return self.of(run).entry(name)

    def told(self, run: str, name: str) -> Entry:
        """What an entry is; raises as `entry`, and RecordError as `read_record` does."""
        return self.shelf.files.record(self.entry(run, name) / ENTRY, Entry)

    def names(self, run: str) -> list[str]:
        """Names of all entries, the first first."""
        book = self.of(run)
        if not book.folder.is_dir():
            return []
        with _refused(), book.held():
            return book.names()

    def seen(self, run: str, name: str) -> tuple[Entry, list[str]]:
        """What an entry is, and names of its files, at one moment; raises as `told`."""
        with _refused(), self.of(run).held():
            place = self.entry(run, name)
            return self.told(run, name), sorted(each.name for each in place.iterdir())

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
            404 when the run went, 409 when its book is full, or what the entry was made from is out of it
        """
        with _refused():
            return self.of(run).add(made)

    def change(self, run: str, name: str, made: Path) -> None:
        """Put a finished folder in an entry's place; raises as `entry`."""
        with _refused():
            self.of(run).change(name, made)

    def take_out(self, run: str, name: str) -> None:
        """Take an entry out of the book; it stays beside it, with a dot before its name.

        Raises
        ------
        RefusedError
            404 when there is no such run or entry, 409 when others rest on it
        """
        with _refused():
            self.of(run).take_out(name)


@contextmanager
def _refused() -> Iterator[None]:
    try:
        yield
    except RecordError as error:
        raise RefusedError(404, str(error)) from None
    except Fault as error:
        raise RefusedError(409, str(error)) from None


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
