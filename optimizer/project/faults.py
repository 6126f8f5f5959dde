"""What a user can mend, in plain sentences: the one tree of errors that reach the person who asked.

Deep down a fault knows what is wrong, and often not in the course of what; then the command that met it gives it the
heading. Signals within the program (a worker that is gone, a request that is refused) are none.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any


class Fault(Exception):  # noqa: N818  (as the field says it: a fault is what is found, not an error of the program)
    """Something to mend.

    Parameters
    ----------
    problems : a sentence for each thing to mend
    heading : stands above them; empty where the command that met the fault is to give one
    """

    exit_code = 2

    def __init__(self, *problems: str, heading: str = "") -> None:
        super().__init__(*problems)
        self.heading = heading

    def __str__(self) -> str:
        return "\n".join(self.args)

    @property
    def problems(self) -> list[str]:
        """A sentence for each thing to mend."""
        return list(self.args)

    @property
    def told(self) -> list[str]:
        """The problems as a person at a terminal reads them."""
        return self.problems

    def __reduce__(self) -> tuple[Callable[..., "Fault"], tuple[type["Fault"], tuple[Any, ...], dict[str, Any]]]:
        return _again, (type(self), self.args, self.__dict__)


def _again(kind: type[Fault], args: tuple[Any, ...], state: dict[str, Any]) -> Fault:
    """A fault as it was before it was pickled, whatever its kind is made from."""
    fault = kind.__new__(kind, *args)
    fault.__dict__.update(state)
    return fault


@contextmanager
def headed(heading: str) -> Iterator[None]:
    """Give a fault that has no heading this one; what the system refuses is a fault, too.

    Raises
    ------
    Fault
        with a heading
    """
    try:
        yield
    except Fault as fault:
        fault.heading = fault.heading or heading
        raise
    except BrokenPipeError:
        raise  # nobody reads on: nothing to mend
    except OSError as error:
        raise Fault(str(error), heading=heading) from error


@contextmanager
def writing(path: Path, heading: str = "cannot write") -> Iterator[None]:
    """Write to a path.

    Raises
    ------
    Fault
        when the system does not let us
    """
    try:
        yield
    except OSError as error:
        raise Fault(f"{path}: {error.strerror or error}", heading=heading) from error
