"""A clock that goes only where a test says so."""

import time


class Clock:
    """Stands in for time.monotonic; `takes` makes a function take so many seconds by it."""

    def __init__(self, monkeypatch=None):
        self.now = 1000.0
        if monkeypatch is not None:
            monkeypatch.setattr(time, "monotonic", self)

    def __call__(self):
        return self.now

    def takes(self, seconds, function):
        """The function, after so many seconds, a number or what gives one after the other."""
        each = iter(lambda: seconds, None) if isinstance(seconds, int | float) else iter(seconds)

        def slow(*given, **named):
            self.now += next(each)
            return function(*given, **named)

        return slow
