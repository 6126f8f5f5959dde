"""Signs of life: what a command does that takes longer than a second, and when it likely ends."""

import sys
import threading
import time
from collections.abc import Callable
from types import TracebackType
from typing import TextIO

from optimizer.words import clock

FIRST_SECONDS = {True: 1.0, False: 10.0}
"""When work is told of first, in a terminal and elsewhere [s]."""

EVERY_SECONDS = 10.0


class Working:
    """While it is entered: lines on standard error that say what is done, in a terminal after a second, elsewhere after
    ten, and every ten seconds from then on; called, how much of it is done, at once, and no line twice over.

    Parameters
    ----------
    doing : what is done, as in `reading the layouts`
    limit_seconds : how long it may take; None where nothing says
    things : what is counted
    quiet : whether what is done is counted without a line of its own
    stream, now : where lines go, and what time it is, unless they are the usual ones
    """

    def __init__(
        self, doing: str, limit_seconds: float | None = None, things: str = "steps", quiet: bool = False,
        stream: TextIO | None = None, now: Callable[[], float] | None = None,
    ) -> None:  # fmt: skip
        self.doing, self.limit, self.things, self.quiet = doing, limit_seconds, things, quiet
        self.stream, self.now = stream or sys.stderr, now or time.monotonic
        self.begun, self.done, self.of, self.said = self.now(), 0, 0, ""
        self._over = threading.Event()
        self._telling = threading.Thread(target=self._tell_on, daemon=True)

    def __enter__(self) -> "Working":
        self._telling.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._over.set()
        self._telling.join()

    def __call__(self, done: int, of: int) -> None:
        """Note how many are done, and say so."""
        self.done, self.of = done, of
        if not self.quiet and self.line() != self.said:
            self.say()

    def line(self) -> str:
        """What is done, for how long, and about how much longer where that can be told."""
        elapsed = self.now() - self.begun
        left = self.seconds_left(elapsed)
        ahead = "" if left is None else f", about {clock(left)} to go"
        counted = f": {self.done} of {self.of} {self.things}" if self.of else ""
        return f"{clock(elapsed)} elapsed{ahead} | {self.doing}{counted}"

    def seconds_left(self, elapsed: float) -> float | None:
        """By what was done so far, and no longer than what is left of the time given; None where neither tells."""
        ways = [] if self.limit is None else [max(self.limit - elapsed, 0.0)]
        if self.done:
            ways.append(elapsed / self.done * (self.of - self.done))
        return min(ways, default=None)

    def say(self) -> None:
        """Write the line now; a reader who has gone stops nothing."""
        self.said = self.line()
        try:
            print(self.said, file=self.stream, flush=True)
        except (OSError, ValueError):
            self._over.set()

    def _tell_on(self) -> None:
        wait = FIRST_SECONDS[self.stream.isatty()]
        while not self._over.wait(wait):
            self.say()
            wait = EVERY_SECONDS
