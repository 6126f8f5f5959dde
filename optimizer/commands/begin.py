"""`begin`: a project file of one's own from a few answers."""

import sys
from pathlib import Path
from typing import Annotated, Any

import typer

from optimizer.commands.options import Reader, Wrong, file, given, measure, option, text, word
from optimizer.project.allowed_ranges import Bounds
from optimizer.project.faults import Fault, writing

FAMILIES = ("keyed-cone", "keyed-cylinder", "six-hole")


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
    lowest: Annotated[str | None, text("--lowest", "NOTE", "lowest written note, such as B3")] = None,
    transposition: Annotated[
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
    from optimizer.beginning.written import begun
    from optimizer.commands.project import tell_likely_mistakes

    told = {key: value for key, value in locals().items() if key not in ("project", "begun", "tell_likely_mistakes")}
    if project.exists():
        raise Fault(f"{project} is there already; give another name, nothing is written over")
    if not project.parent.is_dir():
        raise Fault(f"there is no folder {project.parent}")
    if sys.stdin.isatty() and sys.stdout.isatty():
        told = _asked(told)
    found = begun(_answers(told, project), project)
    _write(project, found.written or found.text)
    held = found.project
    print(
        f"{project}: {held.instrument.name}, {len(found.notes)} notes, {len(held.holes)} holes, {len(held.keys)} keys"
    )
    tell_likely_mistakes(found, sys.stdout)
    print(f"read it, change what you know better, then:  holewright search {project}")
    return 0


def _asked(told: dict[str, Any]) -> dict[str, Any]:
    """The answers with those asked for that were not given."""
    from rich.prompt import Prompt

    from optimizer.beginning.questions import QUESTIONS, known_names
    from optimizer.commands.console import console

    screen = console()
    for question in QUESTIONS:
        if told[question.answer] is not None or not question.asked(told):
            continue
        known = known_names(question)
        words = f"{question.words} {known}" if known else question.words
        told[question.answer] = _value(
            question.answer,
            Prompt.ask(words, console=screen, choices=question.choices(told), default=question.usual(told)),
        )
    return told


def _value(answer: str, said: str) -> Any:
    """What was said, as the option of that answer holds it."""
    if answer in ("forks", "vents", "side_keys", "rows"):
        return said == "yes"
    if answer == "notes" and said == "all":
        return None
    if answer in ("notes", "transposition"):
        reader = semitones if answer == "transposition" else _notes
        value = reader(said)
        if isinstance(value, Wrong):
            raise Fault(str(value))
        return value
    return said


def _notes(said: str) -> int | Wrong:
    return int(said) if said.isdigit() and 2 <= int(said) <= 40 else Wrong(f"notes must be 2 to 40, but got {said!r}")


def _answers(told: dict[str, Any], project: Path) -> Any:
    from optimizer.beginning.answers import Answers
    from optimizer.beginning.shipped import FOLDERS, beside

    given_ = {key: value for key, value in told.items() if value is not None and key not in FOLDERS}
    if "transposition" in given_:
        given_["transposition_semitones"] = given_.pop("transposition")
    files = {kind: beside(kind, told[kind], project) for kind in FOLDERS if told[kind] is not None}
    return Answers.model_validate({**given_, **files})


def _write(path: Path, text_: str) -> None:
    with writing(path), path.open("x", encoding="utf-8") as file_:
        file_.write(text_)
