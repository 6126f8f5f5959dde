"""What is wanted of a hand-off, and what is handed over, as every kind of file takes it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from optimizer.handoff.shapes.shape import Drawing, State
from optimizer.handoff.sheets.paper import A4, Paper
from optimizer.project.stock import Stock
from optimizer.records.layout import LayoutRecord
from optimizer.records.tolerance import HoleAdvice

STATES: Mapping[str, State] = {"finished": "finished", "printed": "printed", "ream": "printed to ream"}
"""States that pieces are drawn in, by the words that they are asked for with, in the order of their drawings."""

EVERY = "all"


@dataclass(frozen=True)
class Wanted:
    """What a hand-off is to hold: kinds of files, none for all that can be written; states of the pieces; the
    paper; the drawer that parts are held against."""

    only: tuple[str, ...] = ()
    states: tuple[State, ...] = ("printed to ream",)
    paper: Paper = A4
    stock: Stock | None = None


def states_of(words: Iterable[str]) -> tuple[State, ...]:
    """States by the words that they are asked for with, `all` for every one, each once and in order; to ream where
    there are no words."""
    asked = set(words) or {"ream"}
    return tuple(state for word, state in STATES.items() if asked & {word, EVERY})


@dataclass(frozen=True)
class Handed:
    """What is handed over: the layout, finished and as it comes from the printer; its pieces in finished sizes and in
    those of every state wanted, the one that is printed last; how to ream, by hole; on which
    paper; what lies in the drawer."""

    record: LayoutRecord
    printed: LayoutRecord
    finished: Drawing
    drawings: tuple[Drawing, ...]
    advice: Mapping[str, HoleAdvice]
    paper: Paper = A4
    stock: Stock | None = None

    @property
    def drawing(self) -> Drawing:
        """In the sizes of the state that is printed."""
        return self.drawings[-1]
