"""Hand, printer and stock files that come with the program, by name; copied beside the project that takes them."""

import shutil
from pathlib import Path

from optimizer.project.demos import demos_folder
from optimizer.project.faults import Fault, writing

FOLDERS = {"hand": "hands", "printer": "printers", "stock": "stock"}
"""Where files of each kind lie."""


def shipped_names(kind: str) -> list[str]:
    """Names of the files of one kind that come along."""
    return sorted(path.stem for path in (demos_folder() / FOLDERS[kind]).glob("*.toml"))


def beside(kind: str, told: str, project: Path) -> Path:
    """The file that is meant: one that is there, or one that comes along, then copied beside the project.

    Parameters
    ----------
    kind : hand, printer or stock
    told : a path, or a name
    project : the project file that will take it

    Raises
    ------
    Fault
        where there is neither
    """
    if Path(told).is_file():
        return Path(told)
    if told not in shipped_names(kind):
        known = ", ".join(shipped_names(kind))
        raise Fault(f"--{kind}: there is no file {told}, and none of that name comes along: {known}")
    target = project.parent / FOLDERS[kind] / f"{told}.toml"
    if not target.exists():
        with writing(target):
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(demos_folder() / FOLDERS[kind] / target.name, target)
    return target
