"""From answers to the text of a project file that passes every check."""

import math
import os
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from optimizer.beginning.answers import Answers, AnswersError
from optimizer.beginning.hole_starts import HoleStart, holes_of
from optimizer.beginning.meant import Meant, meant
from optimizer.beginning.start import AIR, Start, start_of
from optimizer.beginning.tables import hole_of, key_of, lines_of, pieces_of, rows_of, weights_of
from optimizer.beginning.toml_words import bare, entry, span, toml
from optimizer.project.findings import at
from optimizer.project.included import read_included
from optimizer.project.loading import LoadedProject, ProjectError, parse_project, text_with_files
from optimizer.project.printer import Printer

if TYPE_CHECKING:
    from jinja2 import Template

JOINT_CLEARANCE_MM = 2.0
"""As little as can be built, so that joints find room between holes a semitone apart."""
HELD_MM = 1600.0
"""As long as a body may be to be held straight, by a grown player (rule of thumb, no source)."""
SIZES = ("reed_end_mm", "bell_mm", "bore_table")
NO_BORE = "this bore leaves its holes no room; take sizes nearer to what the pitch asks for, or leave them open"


def begun(answers: Answers, path: Path) -> LoadedProject:
    """The project of some answers, checked, not written yet.

    Parameters
    ----------
    answers : as they were given
    path : where its file will be, from whose folder hand, printer and stock files are named

    Raises
    ------
    AnswersError
        where answers do not go together
    Fault
        where a file that they name cannot be read
    """
    text = project_text(answers, path)
    try:
        return parse_project(text_with_files(text, path, None), str(path), False, text)
    except ProjectError as error:
        sizes = _sizes(answers)
        if not sizes or not all(finding.path.startswith(("bore.", "holes.")) for finding in error.findings):
            raise
        raise AnswersError([at(name, NO_BORE) for name in sizes]) from None


def _sizes(answers: Answers) -> list[str]:
    """Names of the answers that a bore is by, other than its pitch."""
    return [name for name in SIZES if getattr(answers, name) is not None]


def project_text(answers: Answers, path: Path) -> str:
    """The text of that project, not checked yet; raises as `begun`."""
    found = meant(answers)
    start = start_of(found)
    return _text(found, start, holes_of(found.family, start), path)


def _text(meant: Meant, start: Start, holes: dict[str, HoleStart], path: Path) -> str:
    answers, family = meant.answers, meant.family
    printer = read_included(answers.printer, Printer, "printer").model if answers.printer else Printer()
    return _template().render(
        meant=meant,
        answers=answers,
        family=family,
        start=start,
        bore_told="" if meant.table else _bore_told(start, meant.bore),
        included=_included(answers, path),
        air=AIR,
        held_mm=HELD_MM,
        **pieces_of(family, start, printer, _sizes(answers) or ["lowest"]),
        joint_clearance=JOINT_CLEARANCE_MM,
        piece_max=printer.piece_max_mm,
        holes={name: hole_of(family, name, begun) for name, begun in holes.items()},
        vents_keyed=bool(family.keys) and any(name in holes for name in family.told["vent_shares"]),
        keys={name: key_of(key) for name, key in family.keys.items()},
        rows=rows_of(family, start, holes) if answers.rows else None,
        lines=lines_of(meant),
        weights=weights_of(meant),
        lever_max=round(max(300.0, 0.42 * start.length), -1),
        ratio=family.told.get("register_ratio_min", 1.0),
    )


@cache
def _template() -> "Template":
    """The text of all beginnings, compiled once."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    known = Environment(
        loader=PackageLoader("optimizer", "beginning"),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        autoescape=False,  # TOML: strings are quoted by `toml`
        keep_trailing_newline=True,
    )
    known.filters |= {"toml": toml, "span": span, "entry": entry, "bare": bare}
    return known.get_template("project.toml.jinja")


def _included(answers: Answers, path: Path) -> list[tuple[str, str, str]]:
    """Tables that are files of their own: their name, path from the project's folder, and what they are."""
    told = {
        "printer": "What it prints with: how long a piece may be, and how far a print is enlarged.",
        "stock": "What lies in the drawer: sizes that holes, tubes and pads are taken from.",
        "hand": "The player's hand; limits are estimates until it is gauged (`holewright gauge`).",
    }
    given = {name: getattr(answers, name) for name in told}
    return [(name, _seen_from(path.parent, file).as_posix(), told[name]) for name, file in given.items() if file]


def _seen_from(folder: Path, file: Path) -> Path:
    """A path from a folder; whole where none leads there, as from one drive of Windows to another."""
    try:
        return Path(os.path.relpath(file, folder))
    except ValueError:
        return file.absolute()


def _bore_told(start: Start, kind: str) -> str:
    """The bore in words."""
    (s0, d0), (s1, d1) = start.bore.points[-2:]
    if kind == "cylinder" or d1 <= d0:
        return f"{d0:g} mm all the way"
    angle = math.degrees(2.0 * math.atan((d1 - d0) / (s1 - s0) / 2.0))
    return f"A straight cone of {angle:.1f} degrees (full angle), {d1:g} mm at the bell"
