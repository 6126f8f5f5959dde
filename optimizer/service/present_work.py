"""An instrument that is made, by the tables that were sent of it, as a run folder; in the workshop."""

from contextlib import chdir
from pathlib import Path
from typing import NamedTuple

from optimizer.project.loading import ProjectError
from optimizer.project.toml_text import UnreadableError, tables_of
from optimizer.service.bench_work import refused
from optimizer.service.offered import SOURCE, hand_of, standing_alone, to_mend
from optimizer.service.refusals import Finding, RefusedError
from optimizer.service.work import Submitted

TABLES = ("holes", "bore", "gauged")
SENT, MADE = "sent", "made"
"""In the folder that is worked in: what was sent, and the run."""


class Sent(NamedTuple):
    """A table: the name of its file and its text."""

    name: str
    text: str


class Instrument(NamedTuple):
    """What is told of an instrument that is made; None or empty where its project says it."""

    holes: Sent
    bore: Sent | None
    gauged: Sent | None
    reed_cm3: float | None
    end_mm: float | None
    joints_mm: tuple[float, ...]


def present(projects: Path, submitted: Submitted, told: Instrument, desk: Path) -> tuple[str, list[str]]:
    """A run folder of the instrument in an empty folder; its name, and what was odd.

    Raises
    ------
    RefusedError
        422 with what is wrong with the project or a table
    """
    from optimizer.prototype.present_layout import present_run
    from optimizer.prototype.present_project import Told, present_project

    hand = hand_of(projects, submitted.hand, submitted.hand_text)
    _names_no_file(submitted.text, told)
    project = Path(SOURCE)
    (desk / SENT).mkdir()
    try:
        text = standing_alone(projects, submitted.text, hand)
        with chdir(desk / SENT), refused(*map(Path, TABLES)):  # so that nothing tells where that is
            project.write_text(text, encoding="utf-8")
            holes, bore, gauged = (_written(Path(what), getattr(told, what)) for what in TABLES)
            said = Told(holes, bore, told.reed_cm3, told.end_mm, told.joints_mm, gauged)
            found = present_project(project, said)
            return present_run(found, desk / MADE).path.name, list(found.remarks)
    except ProjectError as error:
        raise to_mend(projects, error) from None


def _names_no_file(text: str, told: Instrument) -> None:
    """Refuse a project that names a bore that was not sent: no file of this machine is read for it."""
    try:
        own = tables_of(text).get("present")
    except UnreadableError:
        return  # the project is refused in its own words
    if isinstance(own, dict) and "bore" in own and told.bore is None:
        said = Finding(path="bore", message="[present] names a table of the bore; send it along")
        raise RefusedError(422, "the instrument to mend", [said])


def _written(folder: Path, table: Sent | None) -> Path | None:
    if table is None:
        return None
    folder.mkdir()
    path = folder / table.name
    path.write_text(table.text, encoding="utf-8")
    return path
