"""Time that work has to keep to: what is begun is likely to end in it."""

import time
from collections.abc import Callable

GRACE_SHARE, GRACE_SECONDS = 0.1, 5.0


def grace(seconds: float) -> float:
    """How far work may overrun the time that it was given [s]: a tenth of it, or five seconds where that is more."""
    return max(GRACE_SHARE * seconds, GRACE_SECONDS)


class TimeLeft:
    """Time until a deadline, for things done one after the other: another is begun only where the longest so far would
    end in time.

    Parameters
    ----------
    deadline : by the clock [s]
    clock : what time it is [s]; time.monotonic, which all processes of a machine share, unless another is given
    """

    def __init__(self, deadline: float, clock: Callable[[], float] | None = None) -> None:
        self._clock = clock or time.monotonic
        self.deadline, self._longest, self._since = deadline, 0.0, self._clock()

    def done(self) -> None:
        """Note that one thing is done, and the next begins."""
        now = self._clock()
        self._longest, self._since = max(self._longest, now - self._since), now

    @property
    def up(self) -> bool:
        """Whether the deadline has come."""
        return self._clock() >= self.deadline

    def for_more(self, count: int = 1) -> bool:
        """Whether so many more things would end before the deadline."""
        return self._clock() + count * self._longest < self.deadline
