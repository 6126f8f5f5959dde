"""Following a run: one look at its files for all who follow it, as server-sent events (WHATWG HTML, section 9.2)."""

import asyncio
import hashlib
import time
import traceback
from collections.abc import AsyncIterator
from contextlib import suppress
from pathlib import Path

from fastapi.sse import KEEPALIVE_COMMENT, format_sse_event
from pydantic import BaseModel

from optimizer.records.bench_book import BOOK
from optimizer.records.files import RecordError
from optimizer.records.run import ProgressRecord
from optimizer.service.refusals import RefusedError
from optimizer.service.settings import Settings
from optimizer.service.shelf import RunSummary, Shelf

EVERY_SECONDS = 1.0
SIGN_OF_LIFE_SECONDS = 15.0
COMING_SECONDS = 5.0
"""So long one who may follow counts, who has not begun, and may have left."""

ID_LETTERS = 16
NOTHING = 0, 0
WATCHED = ("run.json", "progress.json", "pareto.json", "ticket.json", "lock", BOOK)


class Moment(BaseModel):
    """What followers are told: the run at a glance, its progress, and marks that change when its front and its bench
    book do; null before there is any."""

    run: RunSummary
    progress: ProgressRecord | None
    front: str | None
    book: str | None


class _Watch:
    """One watched run: what was told last, and who waits for more."""

    def __init__(self) -> None:
        self.followers = 0
        self.number = 0
        self.id, self.event = "", b""
        self.gone = False
        self.changed = asyncio.Condition()
        self.task: asyncio.Task[None] | None = None

    async def woken(self, told: int) -> bool:
        """Wait for more than was told, or the end; whether it came before a sign of life is due."""
        with suppress(TimeoutError):
            async with self.changed, asyncio.timeout(SIGN_OF_LIFE_SECONDS):
                return await self.changed.wait_for(lambda: self.number > told or self.gone)
        return False

    async def tell(self, name: str, event: bytes) -> None:
        """Tell all who wait of an event of that id."""
        async with self.changed:
            self.number += 1
            self.id, self.event = name, event
            self.changed.notify_all()


class Following:
    """All runs that are followed."""

    def __init__(self, settings: Settings, shelf: Shelf) -> None:
        self.settings = settings
        self.shelf = shelf
        self._watches: dict[str, _Watch] = {}
        self._closed = False
        self._coming: list[float] = []

    def check(self, run: str) -> None:
        """Let one follow, who counts from now on; refuse what cannot be followed: no such run, or too many followers.

        Raises
        ------
        RefusedError
            404 when there is no such run, 503 when too many follow runs already
        """
        self.shelf.folder(run)
        now = time.monotonic()
        self._coming = [let for let in self._coming if now - let < COMING_SECONDS]
        there = sum(watch.followers for watch in self._watches.values())
        if there + len(self._coming) >= self.settings.followers_most:
            raise RefusedError(503, f"{self.settings.followers_most} follow runs here already")
        self._coming.append(now)

    async def events(self, run: str, last: str | None = None) -> AsyncIterator[bytes]:
        """Events of a run as they stand on the wire: `moment` now and at every change, `gone` once it is deleted.

        Each tells all there is; who takes them in slowly gets the newest next. A moment has an id by what it says, the
        same after a start of the service anew.

        Parameters
        ----------
        run : its name
        last : id of the last event that a follower who comes again had, which is not sent twice
        """
        self._coming = self._coming[1:]
        watch = self._watches.get(run)
        if watch is None or watch.gone:  # the latter of who has not taken that in yet
            watch = self._watches[run] = _Watch()
        watch.followers += 1
        try:
            if watch.task is None:
                watch.task = asyncio.create_task(self._look(run, watch))
            told = 0
            while watch.number > told or not (watch.gone or self._closed):
                if not await watch.woken(told):
                    yield KEEPALIVE_COMMENT
                elif watch.number > told:
                    told, new, event = watch.number, watch.id != last, watch.event
                    if new:
                        last = watch.id
                        yield event
        finally:
            watch.followers -= 1
            if not watch.followers:
                self._end(run, watch)

    def _end(self, run: str, watch: _Watch) -> None:
        if watch.task is not None:
            watch.task.cancel()
        if self._watches.get(run) is watch:
            del self._watches[run]

    async def _look(self, run: str, watch: _Watch) -> None:
        before: tuple[object, ...] = ()
        while not watch.gone:
            try:
                folder = self.shelf.folder(run)
                mark = (*(_mark(folder / name) for name in WATCHED), self.shelf.summary(run).state)
                if mark != before:
                    await watch.tell(*_event(self._moment(run, folder)))
                    before = mark
            except RefusedError:
                watch.gone = True
                await watch.tell("", format_sse_event(event="gone", data_str="{}"))
            except (RecordError, OSError):
                pass  # being written; the next look finds it whole
            except Exception:  # a fault; those who follow are told at the next change
                traceback.print_exc()
            await asyncio.sleep(EVERY_SECONDS)

    def _moment(self, run: str, folder: Path) -> Moment:
        front, book = _words(folder / "pareto.json"), _words(folder / BOOK)
        try:
            progress = self.shelf.progress(folder)
        except RecordError:
            progress = None
        return Moment(run=self.shelf.summary(run), progress=progress, front=front, book=book)

    async def close(self) -> None:
        """Let all followers go."""
        self._closed = True
        for watch in list(self._watches.values()):
            if watch.task is not None:
                watch.task.cancel()
            async with watch.changed:
                watch.gone = True
                watch.changed.notify_all()


def _event(moment: Moment) -> tuple[str, bytes]:
    """A moment's id, made of what it says, and the event."""
    said = moment.model_dump_json()
    name = hashlib.sha256(said.encode()).hexdigest()[:ID_LETTERS]
    return name, format_sse_event(event="moment", data_str=said, id=name)


def _mark(path: Path) -> tuple[int, int]:
    try:
        found = path.stat()
    except OSError:
        return NOTHING
    return found.st_mtime_ns, found.st_size


def _words(path: Path) -> str | None:
    """A mark of a file or folder as a word; None where there is none."""
    mark = _mark(path)
    return None if mark == NOTHING else "-".join(map(str, mark))
