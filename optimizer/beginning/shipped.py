"""Hand, printer and stock files by name: those of a folder of projects, or those that come with the program, which are
copied beside the project that takes them."""

import shutil
import tomllib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from optimizer.beginning.answers import AnswersError
from optimizer.beginning.questions import Choices
from optimizer.project.demos import demos_folder
from optimizer.project.faults import writing
from optimizer.project.file_text import FOLDERS, offered_names
from optimizer.project.findings import at

KINDS = ("hand", "printer", "stock")


def files_in(folder: Path) -> dict[str, Choices]:
    """Names of the files of each kind that a folder of projects offers, each with what it calls itself."""
    places = {kind: folder / FOLDERS[kind] for kind in KINDS}
    return {
        kind: [(Path(name).stem, _called(place / name)) for name in offered_names(place)]
        for kind, place in places.items()
    }


def _called(path: Path) -> str:
    try:
        return str(tomllib.loads(path.read_text("utf-8"))["name"])
    except (OSError, ValueError, KeyError):
        return path.stem


def named(kind: str, name: str, folder: Path) -> Path:
    """The file of a kind in a folder of projects by its name.

    Raises
    ------
    AnswersError
        where there is none of that name
    """
    known = [each for each, _ in files_in(folder)[kind]]
    if name not in known:
        raise AnswersError([at(kind, f"there is no {kind} {name!r}; there are: {', '.join(known) or 'none'}")])
    return folder / FOLDERS[kind] / f"{name}.toml"


def there(kind: str, told: str) -> Path:
    """The file of a kind that is meant by a path, or by the name of one that comes along; raises as `named`."""
    return Path(told) if Path(told).is_file() else named(kind, told, demos_folder())


@contextmanager
def beside(told: Mapping[str, Any], project: Path) -> Iterator[dict[str, Path]]:
    """The files that are meant, by their kinds; those that come along are copied beside the project that takes them.
    They go again, and folders made for them, where the block does not come to its end.

    Raises
    ------
    AnswersError
        where there is none
    """
    made: list[Path] = []
    try:
        yield {kind: _beside(kind, told[kind], project, made) for kind in KINDS if kind in told}
    except BaseException:  # an interrupt, too
        for path in reversed(made):
            with suppress(OSError):  # not there yet, or a folder that others use by now
                (path.rmdir if path.is_dir() else path.unlink)()
        raise


def _beside(kind: str, told: str, project: Path, made: list[Path]) -> Path:
    """The file that is meant; made: grows by folder and file that are made for that, before they are."""
    found = there(kind, told)
    if found.parent.parent != demos_folder():
        return found
    target = project.parent / FOLDERS[kind] / found.name
    if not target.exists():
        with writing(target):
            made += [target] if target.parent.exists() else [target.parent, target]
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(found, target)
    return target
