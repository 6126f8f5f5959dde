"""The questions of `begin`, in a terminal and on the page: one for each answer, in the order they are asked in."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Literal, NamedTuple

from optimizer.beginning.answers import FAMILIES, FamilyName
from optimizer.beginning.family import family_file
from optimizer.project.note_names import NamesOfNotes, name_of, number_of

Kind = Literal["words", "note", "number", "yes or no", "table", "file"]
Choices = Sequence[tuple[str, str]]


class Question(NamedTuple):
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
    usual: str = ""
    left_open: str = ""
    choices: Choices = ()
    kind: Kind = "words"


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
    yield Question("name", "What is it called?", "My reed pipe")
    yield Question("family", "How is it fingered?", FAMILIES[0], choices=families)
    if bore is None:
        kinds = (("cone", "a cone"), ("cylinder", "a cylinder"))
        yield Question("bore", "Is its bore a cone or a cylinder?", "cone", choices=kinds)
    reeds = (("double", "a double reed"), ("single", "a single reed"))
    usual_reed = "single" if bore == "cylinder" else "double"
    yield Question("reed", "Is its reed double or single?", usual_reed, choices=reeds)
    yield Question("note_names", "How are notes named?", "english", choices=NAMES)
    yield Question(
        "lowest", f"Which is its lowest written note? It may sound as {least} to {most}", lowest, kind="note"
    )
    words = "How many semitones does it sound above what is written? Below: -7"
    yield Question("transposition_semitones", words, "0", kind="number")
    yield Question("notes", "How many semitones has its range?", left_open="all of the family", kind="number")
    yield Question("forks", "May notes be forked?", "yes", choices=YES_NO, kind="yes or no")
    yield Question("vents", "Has it vents for a second register?", "yes", choices=YES_NO, kind="yes or no")
    if keyed:
        yield Question("side_keys", "Has it side keys?", "yes", choices=YES_NO, kind="yes or no")
        words = "Do touches stand in rows under the hands, away from the holes?"
        yield Question("rows", words, "no", choices=YES_NO, kind="yes or no")
    by_pitch = "by the pitch"
    yield Question("reed_end_mm", "How wide is the bore at the reed, in mm?", left_open=by_pitch, kind="number")
    yield Question("bell_mm", "How wide is the bore at the bell, in mm?", left_open=by_pitch, kind="number")
    words = "A table of the bore from CAD (.csv, headers from_reed_mm, diameter_mm)?"
    yield Question("bore_table", words, left_open="none, the diameters above", kind="table")


def _of_files(files: Mapping[str, Choices]) -> Iterator[Question]:
    for answer, words, usual, left_open in (
        ("hand", "Whose hand must it lie under?", "median-adult", "a usual one"),
        ("printer", "Which printer prints it?", "filament-256", "a small one"),
        ("stock", "Which drawer of drills, pads and tubes is there?", "", "any size"),
    ):
        there = files[answer]
        usual = usual if usual in dict(there) else ""
        yield Question(answer, words, usual, left_open, there, "file")
