"""So many at once of what takes the service long; who comes beyond is refused and may come again."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager

from optimizer.service.refusals import RefusedError


class Places:
    """Places for one kind of work.

    Parameters
    ----------
    most : how many at once
    what : what they do, after their number: `files are arriving`
    """

    def __init__(self, most: int, what: str) -> None:
        self.most, self.what = most, what
        self._taken = 0
        self._lock = threading.Lock()

    @contextmanager
    def one(self) -> Iterator[None]:
        """A place for as long as the work takes.

        Raises
        ------
        RefusedError
            503 when all are taken
        """
        with self._lock:
            if self._taken >= self.most:
                raise RefusedError(503, f"{self.most} {self.what} already; try again in a moment")
            self._taken += 1
        try:
            yield
        finally:
            with self._lock:
                self._taken -= 1
