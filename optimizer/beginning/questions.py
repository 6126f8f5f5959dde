"""The questions of `begin`, in a terminal and on the page: one for each answer, in the order they are asked in."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from optimizer.beginning.answers import FAMILIES, FamilyName
from optimizer.beginning.family import family_file
from optimizer.project.note_names import NamesOfNotes, name_of, number_of

Kind = Literal["words", "number", "whole number", "yes or no", "table", "file"]
Choices = Sequence[tuple[str, str]]


@dataclass(frozen=True)
class Question:
    """A question.

    Attributes
    ----------
    answer : which answer it asks for
    words : the question
    usual : the usual answer; empty where it may be left open
    left_open : what holds then
    choices : what may be answered, each with words for it; none where anything may; of a file: those that there are
    kind : what an answer is
    """

    answer: str
    words: str
    usual: str
    left_open: str
    choices: Choices
    kind: Kind


def _question(
    answer: str, words: str, usual: str = "", left_open: str = "", choices: Choices = (), kind: Kind = "words"
) -> Question:
    return Question(answer, words, usual, left_open, choices, kind)


YES_NO: Choices = (("yes", "yes"), ("no", "no"))
NAMES: Choices = (
    ("english", "English: C4, F#4, Bb3"), ("german", "German: C4, Fis4, B3"), ("helmholtz", "Helmholtz: c', fis', b"),
)  # fmt: skip


def questions(family: FamilyName, names: NamesOfNotes, files: Mapping[str, Choices]) -> list[Question]:
    """What is asked of an instrument.

    Parameters
    ----------
    family : its fingering
    names : names of notes
    files : hand, printer and stock files that there are, by what they are
    """
    return [*_of_the_instrument(family, names), *_of_files(files)]


def _of_the_instrument(family: FamilyName, names: NamesOfNotes) -> Iterator[Question]:
    said = family_file(family)
    keyed, bore = bool(said["keys"]), said.get("bore")
    families = [(each, str(family_file(each)["title"])) for each in FAMILIES]
    least, most = (name_of(number_of(each), names) for each in said["lowest_sounds"])
    lowest = name_of(number_of(str(said["usual_lowest"])), names)
    yield _question("name", "What is it called?", "My reed pipe")
    yield _question("family", "How is it fingered?", FAMILIES[0], choices=families)
    if bore is None:
        kinds = (("cone", "a cone"), ("cylinder", "a cylinder"))
        yield _question("bore", "Is its bore a cone or a cylinder?", "cone", choices=kinds)
    reeds = (("double", "a double reed"), ("single", "a single reed"))
    usual_reed = "single" if bore == "cylinder" else "double"
    yield _question("reed", "Is its reed double or single?", usual_reed, choices=reeds)
    yield _question("note_names", "How are notes named?", "english", choices=NAMES)
    yield _question("lowest", f"Which is its lowest written note? It may sound as {least} to {most}", lowest)
    words = "How many semitones does it sound above what is written? Below: -7"
    yield _question("transposition_semitones", words, "0", kind="whole number")
    yield _question(
        "notes",
        "How many semitones has its range?",
        left_open="as many as the family has, up to 1245 Hz",
        kind="whole number",
    )
    words = "May notes be forked?" if keyed else "Has it the notes between, by forks and half holes?"
    yield _question("forks", words, "yes", choices=YES_NO, kind="yes or no")
    yield _question("vents", "Has it vents for a second register?", "yes", choices=YES_NO, kind="yes or no")
    if keyed:
        yield _question("side_keys", "Has it side keys?", "yes", choices=YES_NO, kind="yes or no")
        words = "Do touches stand in rows under the hands, away from the holes?"
        yield _question("rows", words, "no", choices=YES_NO, kind="yes or no")
    by_pitch = "by the pitch"
    yield _question("reed_end_mm", "How wide is the bore at the reed, in mm?", left_open=by_pitch, kind="number")
    yield _question("bell_mm", "How wide is the bore at the bell, in mm?", left_open=by_pitch, kind="number")
    words = "A table of the bore from CAD (.csv, headers from_reed_mm, diameter_mm)?"
    yield _question("bore_table", words, left_open="none, the diameters above", kind="table")


def _of_files(files: Mapping[str, Choices]) -> Iterator[Question]:
    for answer, words, usual, left_open in (
        ("hand", "Whose hand must it lie under?", "median-adult", "a usual one"),
        ("printer", "Which printer prints it?", "filament-256", "a small one"),
        ("stock", "Which drawer of drills, pads and tubes is there?", "", "any size"),
    ):
        there = files[answer]
        usual = usual if usual in dict(there) else ""
        yield _question(answer, words, usual, left_open, there, "file")
