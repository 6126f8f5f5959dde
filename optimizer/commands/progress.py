"""Progress of work that has a time to keep to."""

import sys
import time

from optimizer.words import clock


class FitProgress:
    """A line on standard error each time something is done: how much, for how long, about how much longer."""

    def __init__(self, what: str, limit_seconds: float) -> None:
        self.what, self.limit, self.begun = what, limit_seconds, time.monotonic()

    def __call__(self, done: int, of: int) -> None:
        """Say how many are done."""
        elapsed = time.monotonic() - self.begun
        left = min(max(self.limit - elapsed, 0.0), elapsed / done * (of - done)) if done else self.limit
        print(
            f"{clock(elapsed)} elapsed, about {clock(left if done < of else 0.0)} to go | {done} of {of} {self.what}",
            file=sys.stderr,
        )
