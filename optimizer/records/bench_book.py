"""The bench book of a run as a folder: entries are moved there whole, and changed whole.

What is taken out stays in the folder under a name that nothing reads. Commands and the service write the same book, be
it at the same time.
"""

import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from os.path import isfile
from pathlib import Path

from optimizer.project.faults import Fault
from optimizer.records.book_entry import ENTRY, NAME, Entry
from optimizer.records.files import RecordError, make_private, once_free, read_record
from optimizer.records.locks import folder_to_lock, lock
from optimizer.words import listed

BOOK = "book"
ENTRIES_MOST = 500


class BenchBook:
    """The book of one run.

    Parameters
    ----------
    run : its folder
    bytes_of : how a file is read, for those who open files in a way of their own
    """

    def __init__(self, run: Path, bytes_of: Callable[[Path], bytes] = Path.read_bytes) -> None:
        self.folder, self._bytes_of = run / BOOK, bytes_of

    def names(self) -> list[str]:
        """Names of all entries, the first first."""
        if not self.folder.is_dir() or self.folder.is_symlink():
            return []
        return sorted((each.name for each in self.folder.iterdir() if _is_entry(each)), key=int)

    def entry(self, name: str) -> Path:
        """The folder of an entry.

        Raises
        ------
        RecordError
            when there is none
        """
        path = self.folder / name
        if self.folder.is_symlink() or not NAME.fullmatch(name) or not _is_entry(path):
            raise RecordError(f"the book of run {self.folder.parent.name} has no entry {name}")
        return path

    def told(self, name: str) -> Entry:
        """What an entry is; raises RecordError as `entry` and `read_record` do."""
        return read_record(self.entry(name) / ENTRY, Entry, self._bytes_of)

    @contextmanager
    def desk(self) -> Iterator[Path]:
        """An empty folder beside the entries, to make one in."""
        make_private(self.folder, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".", dir=self.folder) as place:
            (made := Path(place) / "made").mkdir(mode=0o700)
            yield made

    @contextmanager
    def held(self) -> Iterator[None]:
        """Keep the book as it is for whoever else writes to it, in this process or another.

        Raises
        ------
        RecordError
            when there is none
        LockError
            when it cannot be held
        """
        try:
            held = folder_to_lock(self.folder)
        except OSError:
            raise RecordError(f"run {self.folder.parent.name} has no book") from None
        try:
            lock(held, f"the book of run {self.folder.parent.name}", wait=True)
            for former in self.folder.glob(".*.former"):  # left by a process that was killed as it changed an entry
                if (place := self.folder / former.name.split(".")[1]).exists():
                    shutil.rmtree(former, ignore_errors=True)
                else:
                    once_free(partial(former.rename, place))
            yield
        finally:
            os.close(held)

    def add(self, made: Path) -> str:
        """Put a finished folder into the book; its name there.

        Raises
        ------
        Fault
            when the book is full, or what the entry was made from is out of the book
        """
        make_private(self.folder, exist_ok=True)
        with self.held():
            names = self._all()
            if len(names) >= ENTRIES_MOST:
                raise Fault(f"the book of this run has {ENTRIES_MOST} entries, and takes no more")
            gone = sorted(read_record(made / ENTRY, Entry).rests_on - set(self.names()))
            if gone:
                raise Fault(f"entry {gone[0]}, which this was made from, was taken out of the book meanwhile")
            name = f"{max(map(int, names), default=0) + 1:03d}"
            once_free(partial(made.rename, self.folder / name))
        return name

    def change(self, name: str, made: Path) -> None:
        """Put a finished folder in an entry's place; raises as `entry`."""
        with self.held():
            place = self.entry(name)
            former = place.with_name(f".{name}.former")
            shutil.rmtree(former, ignore_errors=True)
            once_free(partial(place.rename, former))
            try:
                once_free(partial(made.rename, place))
            except OSError:
                once_free(partial(former.rename, place))
                raise
            shutil.rmtree(former, ignore_errors=True)

    def take_out(self, name: str) -> None:
        """Take an entry out of the book; it stays beside it, with a dot before its name. Raises as `entry`.

        Raises
        ------
        Fault
            when others came from it
        """
        with self.held():
            place = self.entry(name)
            above = [each for each in self.names() if name in self._rests_on(each)]
            if above:
                those = "that" if len(above) == 1 else "those"
                raise Fault(f"{listed(above)} came from entry {name}; take {those} out first")
            once_free(partial(place.rename, place.with_name(f".{name}")))

    def _rests_on(self, name: str) -> set[str]:
        try:
            return self.told(name).rests_on
        except RecordError:
            return set()

    def _all(self) -> list[str]:
        """Names that entries have or had."""
        found = (each.name.lstrip(".") for each in self.folder.iterdir())
        return [name for name in found if NAME.fullmatch(name)]


def _is_entry(path: Path) -> bool:
    return NAME.fullmatch(path.name) is not None and not path.is_symlink() and isfile(path / ENTRY)
