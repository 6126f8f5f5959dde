"""Hand, printer and stock files by name: those of a folder of projects, or those that come with the program, which are
copied beside the project that takes them."""

import shutil
import tomllib
from pathlib import Path

from optimizer.beginning.answers import AnswersError
from optimizer.beginning.questions import Choices
from optimizer.project.demos import demos_folder
from optimizer.project.faults import writing
from optimizer.project.file_text import FOLDERS
from optimizer.project.findings import at

KINDS = ("hand", "printer", "stock")


def files_in(folder: Path) -> dict[str, Choices]:
    """Names of the files of each kind in a folder of projects, each with what it calls itself."""
    return {
        kind: [(path.stem, _called(path)) for path in sorted((folder / FOLDERS[kind]).glob("*.toml"))] for kind in KINDS
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


def beside(kind: str, told: str, project: Path) -> Path:
    """The file that is meant; one that comes along is copied beside the project that will take it.

    Raises
    ------
    AnswersError
        where there is none
    """
    found = there(kind, told)
    if found.parent.parent != demos_folder():
        return found
    target = project.parent / FOLDERS[kind] / found.name
    if not target.exists():
        with writing(target):
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(found, target)
    return target
