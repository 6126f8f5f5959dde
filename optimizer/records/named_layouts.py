"""The layouts that a path names: a layout file by itself, those of a run folder, or what a hand-off had printed."""

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from optimizer.project.hand import Hand
from optimizer.project.included import read_included, taken_in
from optimizer.project.learned import Learned
from optimizer.project.stock import Stock
from optimizer.records.files import RecordError, read_record
from optimizer.records.handoff import AS_PRINTED
from optimizer.records.handoff import FILE as HANDOFF
from optimizer.records.layout import LayoutRecord, saved_numbers
from optimizer.records.layout_ids import trial_number
from optimizer.records.parentage import FOLDER as BY_HAND
from optimizer.records.parentage import NAME as BY_HAND_NAME
from optimizer.records.parentage import numbered_by_hand
from optimizer.records.run import FrontRecord, RunRecord
from optimizer.words import counted, typed

if TYPE_CHECKING:
    from optimizer.project.loading import LoadedProject


def is_project(path: Path) -> bool:
    """Whether a path is that of a project file."""
    return path.suffix == ".toml" and not path.is_dir()


def runs_of(results: Path, loaded: "LoadedProject") -> list[tuple[Path, bool]]:
    """Run folders of a project, those of its text as it is first, the latest first of them; with whether they are."""
    found = []
    for file in sorted(results.glob("*/run.json"), key=lambda file: file.parent.name, reverse=True):
        try:
            run = read_record(file, RunRecord)
        except RecordError:
            continue
        if run.project_text == loaded.text or Path(run.project_file).name == Path(loaded.source).name:
            found.append((file.parent, run.project_text == loaded.text))
    return sorted(found, key=lambda one: not one[1])


def run_of(path: Path) -> Path:
    """The run folder that is named, or that the named layout would lie in."""
    return path if path.is_dir() else path.resolve().parent.parent


def front_of(folder: Path) -> FrontRecord:
    """The front of a run.

    Raises
    ------
    RecordError
        when the folder is no run's
    """
    if not (folder / "pareto.json").exists():
        raise RecordError(f"{folder} is no run folder: there is no pareto.json in it{_runs_in(folder)}")
    return read_record(folder / "pareto.json", FrontRecord)


def _runs_in(folder: Path) -> str:
    """Which of the runs in a folder of runs to name; nothing where there is none."""
    runs = sorted(folder.glob("*/pareto.json"), key=lambda file: file.stat().st_mtime)
    return f"; of {counted(len(runs), 'run')} in it the latest is {typed(runs[-1].parent)}" if runs else ""


def layout_file_of(path: Path) -> Path:
    """Of a hand-off's folder, or of its `handoff.json`, the layout as it comes from the printer; any other path as it
    is."""
    folder = path.parent if path.name == HANDOFF else path
    return folder / AS_PRINTED if (folder / HANDOFF).is_file() and folder.is_dir() else path


def by_hand_files(folder: Path) -> dict[str, Path]:
    """Files of the layouts of a run that were changed by hand, by their ids, the first first."""
    found = {file.stem: file for file in (folder / BY_HAND).glob("*.json") if BY_HAND_NAME.fullmatch(file.stem)}
    return dict(sorted(found.items(), key=lambda each: numbered_by_hand(each[0])))


def layout_files(path: Path, wanted: str | None = None) -> list[Path]:
    """Files of the layouts to choose from: a layout file itself; of a run the one wanted (`t12` is `t000000012`,
    `hand-1` one changed by hand), else its whole front; of a hand-off the layout as printed.

    Raises
    ------
    RecordError
        when there are none such
    """
    path = layout_file_of(path)
    if is_project(path):
        raise RecordError(f"{path} is a project, not a layout; `holewright search {typed(path)}` makes a run of it")
    if not path.is_dir():
        if wanted is not None:
            raise RecordError(f"{path} is one layout; --layout picks one of a run folder")
        return [path]
    known = {entry.id: path / entry.file for entry in front_of(path).layouts}
    if wanted is not None:
        known |= by_hand_files(path)
    if not known:
        raise RecordError(f"{path} has no layout yet: it ended before its first one was done")
    if wanted is None:
        return list(known.values())
    number = trial_number(wanted)
    found = [
        file for name, file in known.items() if name == wanted or (number is not None and trial_number(name) == number)
    ]
    if not found:
        raise RecordError(f"{path} has no layout {wanted!r}; it has {', '.join(known)}")
    return found[:1]


def chosen_file(path: Path, wanted: str | None = None, feasible: bool = False) -> Path:
    """The one layout file that is meant: of a run the layout wanted, else the one nearest in tune.

    Parameters
    ----------
    path : a run folder, a layout file, or a hand-off
    wanted : the layout's id in the run
    feasible : whether the one nearest in tune must keep all limits; an instrument that is made need not

    Raises
    ------
    RecordError
        when there is none such
    """
    path = layout_file_of(path)
    files = layout_files(path, wanted)
    if wanted is not None or not path.is_dir():
        return files[0]
    front = front_of(path)
    if feasible and not front.feasible and not front.made:
        known = ", ".join(entry.id for entry in front.layouts)
        raise RecordError(f"no layout of {path} is feasible; name one with --layout: {known}")
    return path / front.best_tuned.file


def chosen_layout(path: Path, wanted: str | None = None, feasible: bool = False) -> LayoutRecord:
    """The layout of `chosen_file`."""
    return read_record(chosen_file(path, wanted, feasible), LayoutRecord)


def project_or_run(
    path: Path, hand: Path | None, learned: Path | None = None
) -> tuple["LoadedProject", Mapping[str, Any] | None]:
    """The project of a file, or that of a run folder with the numbers of its layout nearest in tune; under a hand, and
    as a measured instrument taught."""
    if not path.is_dir():
        from optimizer.project.loading import load_project

        return load_project(path, hand, rule_out=False, learned=learned), None
    loaded = project_of_run(path, hand, learned)
    front = front_of(path)
    if not front.layouts:
        return loaded, None
    best = front.best_tuned
    return loaded, saved_numbers(read_record(path / best.file, LayoutRecord), loaded.project)


def stock_meant(path: Path, given: Path | None = None) -> Stock | None:
    """What lies in the drawer: by a stock file, else by the project, a run's or that of a layout in one; None where
    nothing says.

    Parameters
    ----------
    path : project file, run folder or layout file
    given : stock file
    """
    if given is not None:
        return read_included(given, Stock, "stock").model
    if is_project(path):
        from optimizer.project.loading import load_project

        return load_project(path, rule_out=False).project.stock
    folder = run_of(path)
    return project_of_run(folder, None).project.stock if (folder / "run.json").is_file() else None


def project_of_run(folder: Path, hand: Path | None, learned: Path | None = None) -> "LoadedProject":
    """The project text that a run keeps, with another hand in it and what was learned, where they are named."""
    run = read_record(folder / "run.json", RunRecord)
    text = run.project_text if hand is None else taken_in(run.project_text, read_included(hand, Hand, "hand"))
    if learned is not None:
        text = taken_in(text, read_included(learned, Learned, "learned"))
    from optimizer.project.loading import parse_project

    return parse_project(text, run.project_file, rule_out=False)
