"""Progress of a search: one live line in a terminal, a plain line now and then elsewhere."""

import shutil
import sys
import time
from typing import TextIO

from optimizer.objective_names import UNITS, counted
from optimizer.search import Status
from optimizer.show import shortfall

PLAIN_EVERY_SECONDS = 10.0


def clock(seconds: float) -> str:
    """Minutes and seconds, such as 2:05; hours when there are any."""
    whole = max(0, round(seconds))
    hours, minutes = whole // 3600, whole // 60 % 60
    return f"{hours}:{minutes:02d}:{whole % 60:02d}" if hours else f"{minutes}:{whole % 60:02d}"


def remaining(status: Status) -> float | None:
    """Seconds until the first limit is reached, by the rate since the first trial; None while nothing tells."""
    limits, ways = status.limits, []
    if limits.minutes is not None:
        ways.append(60.0 * limits.minutes - status.elapsed)
    if limits.trials is not None and status.first_after is not None and status.done > 1:
        each = (status.elapsed - status.first_after) / (status.done - 1)
        ways.append((limits.trials - status.done) * each)
    return min(ways, default=None)


def describe(status: Status) -> str:
    """One line: time, trials, front, best of each objective."""
    left = remaining(status)
    head = f"{clock(status.elapsed)} elapsed" + ("" if left is None else f", {clock(left)} to go")
    if status.done == 0 and status.failed == 0:
        return f"{head} | compiling the acoustics on {counted(status.workers, 'worker')}"
    trials = counted(status.done, "trial") + (f", {status.failed} failed" if status.failed else "")
    if status.best:
        best = ", ".join(f"{name} {value:.2f} {UNITS[name]}" for name, value in status.best.items())
        return f"{head} | {trials} | {status.front} on the front | best of each: {best}"
    return f"{head} | {trials} | nothing feasible yet" + (f"; {shortfall(status.nearest)}" if status.nearest else "")


class ProgressLine:
    """Shows each status on a stream: rewritten in place on a terminal, else every `PLAIN_EVERY_SECONDS`."""

    def __init__(self, stream: TextIO | None = None) -> None:
        self.stream = stream or sys.stderr
        self.live = self.stream.isatty()
        self.shown_at = float("-inf")

    def __call__(self, status: Status) -> None:
        """Show a status."""
        now = time.monotonic()
        if self.live:
            self.stream.write("\r\x1b[2K" + describe(status)[: shutil.get_terminal_size().columns - 1])
        elif now - self.shown_at >= PLAIN_EVERY_SECONDS:
            self.shown_at = now
            self.stream.write(describe(status) + "\n")
        self.stream.flush()

    def close(self) -> None:
        """End the live line."""
        if self.live:
            self.stream.write("\n")
            self.stream.flush()
