"""`begin`: a project file of one's own from a few answers."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from optimizer.commands.options import Reader, Wrong, file, given, measure, option, text, word
from optimizer.project.allowed_ranges import Bounds
from optimizer.project.faults import Fault, writing
from optimizer.words import typed

if TYPE_CHECKING:
    from optimizer.project.loading import LoadedProject

FAMILIES = ("keyed-cone", "keyed-cylinder", "six-hole")
NAMES = ("english", "german", "helmholtz")


def _switch(name: str, help: str) -> Any:
    """An option that is asked for where it is left out."""
    return typer.Option(f"--{name}/--no-{name}", help=help)


def semitones(text_: str) -> int | Wrong:
    """Reads a number of semitones, above or below."""
    try:
        found = int(text_)
    except ValueError:
        return Wrong(f"--transposition must be a whole number of semitones, such as -7, but got {text_!r}")
    return found if -36 <= found <= 36 else Wrong(f"--transposition must lie between -36 and 36, but got {found}")


def _diameter(name: str, help: str) -> Any:
    return measure(name, float, Bounds(above=0, most=200), help)


_SEMITONES: Reader = semitones


def begin(
    project: Annotated[Path, given("PROJECT", "project file (.toml) to write; it must not be there")],
    name: Annotated[str | None, text("--name", "NAME", "what the instrument is called")] = None,
    family: Annotated[
        str | None, option("--family", word("--family", FAMILIES), "NAME", f"fingerings: {', '.join(FAMILIES)}")
    ] = None,
    bore: Annotated[
        str | None,
        option("--bore", word("--bore", ("cone", "cylinder")), "KIND", "cone or cylinder (default: the family's)"),
    ] = None,
    reed: Annotated[
        str | None, option("--reed", word("--reed", ("double", "single")), "KIND", "double or single")
    ] = None,
    note_names: Annotated[
        str | None,
        option("--note-names", word("--note-names", NAMES), "NAMES", f"names of notes: {', '.join(NAMES)}"),
    ] = None,
    lowest: Annotated[str | None, text("--lowest", "NOTE", "lowest written note, such as B3")] = None,
    transposition_semitones: Annotated[
        int | None, option("--transposition", _SEMITONES, "NUMBER", "semitones that it sounds above what is written")
    ] = None,
    notes: Annotated[
        int | None, measure("--notes", int, Bounds(least=2, most=40), "semitones of its range (default: the family's)")
    ] = None,
    forks: Annotated[bool | None, _switch("forks", "notes by forked fingers, or by keys of their own")] = None,
    vents: Annotated[bool | None, _switch("vents", "vents for a second register, or the first alone")] = None,
    side_keys: Annotated[bool | None, _switch("side-keys", "side keys, or fewer notes")] = None,
    rows: Annotated[bool | None, _switch("rows", "touches in rows away from the holes, or fingers over them")] = None,
    reed_end_mm: Annotated[float | None, _diameter("--reed-end-mm", "bore at the reed (default: by the pitch)")] = None,
    bell_mm: Annotated[float | None, _diameter("--bell-mm", "bore at the bell (default: by the pitch)")] = None,
    bore_table: Annotated[
        Path | None, file("--bore-table", "bore from CAD (.csv: from_reed_mm, diameter_mm), in place of diameters")
    ] = None,
    hand: Annotated[str | None, text("--hand", "PATH", "hand file, or the name of one that comes along")] = None,
    printer: Annotated[
        str | None, text("--printer", "PATH", "printer file, or the name of one that comes along")
    ] = None,
    stock: Annotated[str | None, text("--stock", "PATH", "stock file, or the name of one that comes along")] = None,
) -> int:
    """Write a project file from about ten answers, asked in a terminal where they are not given as options.

    Positions and ranges are the textbook's; the file says where each number came from, and a search settles them.

    Raises
    ------
    Fault
        where the file is there already, or answers do not go together
    """
    told = {answer: value for answer, value in locals().items() if answer != "project" and value is not None}
    from optimizer.commands.project import tell_likely_mistakes

    if project.exists():
        raise Fault(f"{project} is there already; give another name, nothing is written over")
    if not project.parent.is_dir():
        raise Fault(f"there is no folder {project.parent}")
    if sys.stdin.isatty() and sys.stdout.isatty():
        from optimizer.commands.asking import asked

        found = asked(told, lambda answers: _begun(answers, project))
    else:
        found = _begun(told, project)
    held = found.project
    print(
        f"{project}: {held.instrument.name}, {len(found.notes)} notes, {len(held.holes)} holes, {len(held.keys)} keys"
    )
    tell_likely_mistakes(found, sys.stdout)
    print(f"read it, change what you know better, then:  holewright search {typed(project)}")
    return 0


def _begun(told: dict[str, Any], project: Path) -> "LoadedProject":
    """The project of the answers, written, its files beside it; nothing stays where that does not come to its end."""
    from optimizer.beginning.answers import answers_of
    from optimizer.beginning.meant import meant
    from optimizer.beginning.shipped import KINDS, beside
    from optimizer.beginning.written import begun

    meant(answers_of({answer: value for answer, value in told.items() if answer not in KINDS}))
    with beside(told, project) as files:
        found = begun(answers_of({**told, **files}), project)
        _write_new(project, found.written or found.text)
    return found


def _write_new(path: Path, text: str) -> None:
    """Write a file that is not there yet; none is left where it cannot be written whole."""
    with writing(path):
        stream = path.open("x", encoding="utf-8")
        try:
            with stream:
                stream.write(text)
        except BaseException:
            path.unlink(missing_ok=True)
            raise
