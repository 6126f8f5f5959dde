"""Progress of a search: one live line in a terminal, a plain line a minute elsewhere."""

import shutil
import sys
import time
from contextlib import suppress
from typing import TYPE_CHECKING, TextIO

from optimizer.views.front_tables import shortfall
from optimizer.views.objectives import figures
from optimizer.words import clock, counted

if TYPE_CHECKING:
    from optimizer.search.driver import Status

PLAIN_EVERY_SECONDS = 60.0
WORKER = {"local": "worker", "ray": "Ray worker"}


def describe(status: "Status") -> str:
    """One line: time, trials, front, best of each objective."""
    left, first = status.seconds_left, status.done == 0 and not status.front
    late = first and left == 0.0
    ahead = "" if left is None else f", {clock(left)} to go"
    head = f"{clock(status.elapsed)} elapsed" + (", past its time as it has no layout yet" if late else ahead)
    if status.done == 0 and status.failed == 0:
        return f"{head} | solving the first trials {_where(status)}"
    trials = counted(status.done, "trial") + (f", {status.failed} failed" if status.failed else "")
    trials += f" ({status.rate:.1f}/s {_where(status)})" if status.done > 1 else f" ({_where(status)})"
    if status.best:
        best = figures(status.best, ", ")
        return f"{head} | {trials} | {status.front} on the front, hypervolume {status.hypervolume:.3f} | best: {best}"
    return f"{head} | {trials} | nothing feasible yet" + (f"; {shortfall(status.nearest)}" if status.nearest else "")


def _where(status: "Status") -> str:
    """Who solves; the driver itself while there is no worker, and what keeps workers from coming."""
    if status.workers:
        return f"on {counted(status.workers, WORKER[status.pool])}"
    return "in this process alone" + (f"; {status.trouble}" if status.trouble else "")


class ProgressLine:
    """Shows each status on a stream: rewritten in place on a terminal, else every
    `PLAIN_EVERY_SECONDS`, at the first finished trial, and when workers come, go or are kept from coming. A reader who
    has gone stops nothing."""

    def __init__(self, stream: TextIO | None = None) -> None:
        self.stream = stream or sys.stderr
        self.live = self.stream.isatty()
        self.shown_at = float("-inf")
        self.had_one = False
        self.workers = 0
        self.trouble = ""

    def __call__(self, status: "Status") -> None:
        """Show a status."""
        now = time.monotonic()
        if self.live:
            self._write("\r\x1b[2K" + describe(status)[: shutil.get_terminal_size().columns - 1])
        elif now - self.shown_at >= PLAIN_EVERY_SECONDS or self._new(status):
            self.shown_at, self.had_one = now, status.done > 0
            self.workers, self.trouble = status.workers, status.trouble
            self.say(describe(status))

    def _new(self, status: "Status") -> bool:
        told = self.workers, self.trouble
        return (status.done > 0) > self.had_one or (status.workers, status.trouble) != told

    def say(self, line: str) -> None:
        """A line of its own."""
        self._write(line + "\n")

    def close(self) -> None:
        """End the live line."""
        if self.live:
            self._write("\n")

    def _write(self, text: str) -> None:
        with suppress(OSError, ValueError):  # a pipe that nobody reads, a stream that is closed
            self.stream.write(text)
            self.stream.flush()
