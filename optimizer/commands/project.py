"""`check`, `schema` and `duct`: what files say, and what they must be like."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from optimizer.commands.options import Hand, ProjectFile, flag, given, word
from optimizer.project.faults import Fault

if TYPE_CHECKING:
    from typing import TextIO

    from optimizer.project.loading import LoadedProject

KINDS = (
    "project",
    "layout",
    "front",
    "recommendation",
    "run",
    "progress",
    "hands",
    "reliefs",
    "comparison",
    "tolerance",
    "extension",
    "prices",
    "prediction",
    "sound",
    "blowing",
    "fingerings",
    "gauged",
    "coupon",
    "impedance",
    "measurement",
    "takes",
    "calibration",
    "correction",
    "handoff",
)


def check(
    project: ProjectFile,
    values: Annotated[bool, flag("--values", "also list every limit in force, defaults included")] = False,
    quick: Annotated[bool, flag("--quick", "leave out the look for limits that conflict")] = False,
    hand: Hand = None,
) -> int:
    """Read a project file: what it says, and every problem in it."""
    from optimizer.project.loading import load_project
    from optimizer.views.project_overview import overview, values_in_force

    loaded = load_project(project, hand)
    print(overview(loaded))
    tell_likely_mistakes(loaded, sys.stdout)
    if loaded.project.present is not None and not loaded.project.made:
        _tell_present(project, hand)
    if values:
        print(values_in_force(loaded.project))
    if not quick:
        refuse_conflicts(loaded)
    return 0


def _tell_present(path: Path, hand: Path | None) -> None:
    """Read the tables of the instrument that is made, and say what a look at it would remark.

    Raises
    ------
    Fault
        with what is wrong with them
    """
    from optimizer.prototype.present_project import Told, present_project

    found = present_project(path, Told(), hand)
    said = "the instrument that is made: its tables can be read; `holewright present` shows it"
    print(said, *(f"  {remark}" for remark in found.remarks), sep="\n")


def tell_likely_mistakes(loaded: "LoadedProject", stream: "TextIO") -> None:
    """Write what a sound project is likely not to mean."""
    from optimizer.project.loading import likely_mistakes

    found = likely_mistakes(loaded)
    if found:
        heading = "likely mistakes; nothing is changed, and a search would go by what is written"
        print(heading, *(f"  {finding.told}" for finding in found), sep="\n", file=stream)


def refuse_conflicts(loaded: "LoadedProject", *advice: str) -> None:
    """Look for limits that conflict.

    Raises
    ------
    Fault
        with those found, and advice after them
    """
    found = conflicts_of(loaded)
    if found:
        raise Fault(*found, *advice, heading=f"{loaded.source}: limits that conflict")


def conflicts_of(loaded: "LoadedProject") -> list[str]:
    """What a look for limits that conflict found, in sentences."""
    from optimizer.commands.progress import Working
    from optimizer.limits.conflicts import SECONDS, conflict_lines

    with Working("looking for limits that conflict", SECONDS):
        return conflict_lines(loaded)


def schema(kind: Annotated[str, given("KIND", f"one of {', '.join(KINDS)}", word("KIND", KINDS))]) -> int:
    """Print the JSON Schema of a project file or of a record."""
    from optimizer.records.kinds import schema_text

    sys.stdout.write(schema_text(kind))
    return 0


def duct(cases: Annotated[Path, given("CASES", "file of cases (.json); acoustics/README.md describes it")]) -> int:
    """Compute ducts given as numbers; compare with references."""
    from optimizer.views.duct_tables import show_ducts

    show_ducts(cases)
    return 0
