"""Layouts changed by hand: what a move comes to, the others settled, and what is kept, in a process apart.

A process keeps what it was last asked of, so that a move costs no more than the layout itself.
"""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from optimizer.project.faults import Fault
from optimizer.records.files import make_private, write_record
from optimizer.records.named_layouts import by_hand_files
from optimizer.records.parentage import FOLDER, hand_id, numbered_by_hand
from optimizer.service.kept_files import state_of
from optimizer.service.refusals import RefusedError
from optimizer.service.studies import project_of_run
from optimizer.service.work import layout_read

if TYPE_CHECKING:
    from optimizer.analysis.by_hand import ByHand
    from optimizer.solving.problem import Problem

KEPT_MOST = 1000
"""Layouts of a run that are changed by hand."""


def moved(folder: Path, layout: Path, numbers: Mapping[str, float]) -> bytes:
    """A layout with some numbers changed, as JSON (`MovedLayout`).

    Raises
    ------
    RefusedError
        404 when run or layout went, 422 for numbers that cannot be moved so
    """
    with _refused():
        return _by_hand(folder, layout).moved(numbers).model_dump_json().encode()


def settled(folder: Path, layout: Path, numbers: Mapping[str, float], held: Sequence[str], steps: int) -> bytes:
    """The same with the numbers that are not held solved again, in so many steps at most; refuses as `moved` does."""
    with _refused():
        return _by_hand(folder, layout).settled(numbers, held, steps).model_dump_json().encode()


def kept(folder: Path, layout: Path, numbers: Mapping[str, float], moved: Sequence[str]) -> str:
    """Id of the layout that keeps these numbers, a file of its run from now on; refuses as `moved` does.

    Raises
    ------
    RefusedError
        422 where the run keeps no more
    """
    place = folder / FOLDER
    if place.is_symlink():
        raise RefusedError(404, f"run {folder.name} cannot keep layouts changed by hand")
    names = by_hand_files(folder)
    if len(names) >= KEPT_MOST:
        raise RefusedError(422, f"run {folder.name} has {KEPT_MOST} layouts changed by hand, and takes no more")
    name = hand_id(max(map(numbered_by_hand, names), default=0) + 1)
    with _refused():
        record = _by_hand(folder, layout).kept(numbers, moved, name)
    if not (folder / "run.json").is_file():
        raise RefusedError(404, "the run was deleted meanwhile")
    make_private(place, exist_ok=True)
    write_record(place / f"{name}.json", record)
    return name


@contextmanager
def _refused() -> Iterator[None]:
    """Refuse what cannot be moved so, or holds nothing that could be played."""
    try:
        yield
    except Fault as fault:
        raise RefusedError(422, str(fault)) from None
    except (ValueError, ArithmeticError):
        raise RefusedError(422, "moved so, the layout holds no geometry that could be played") from None


def _by_hand(folder: Path, layout: Path) -> "ByHand":
    try:
        found = layout.stat()
    except OSError:
        raise RefusedError(404, "that layout is gone; the front has moved on") from None
    return _layout_at(folder, layout, state_of(found))


@lru_cache(4)
def _layout_at(folder: Path, layout: Path, _mark: tuple[int, int, int]) -> "ByHand":
    from optimizer.analysis.by_hand import ByHand

    return ByHand(_problem(folder, project_of_run(folder, None).text), layout_read(layout))


@lru_cache(2)
def _problem(folder: Path, _text: str) -> "Problem":
    from optimizer.solving.problem import Problem

    return Problem(project_of_run(folder, None))
