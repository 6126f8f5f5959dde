"""What a maker is asked before there is a project file: about ten answers, most with a usual one."""

from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field, ValidationError

from optimizer.project.faults import Fault
from optimizer.project.findings import Finding, sentences_of
from optimizer.project.note_names import NamesOfNotes
from optimizer.project.numbers import Section
from optimizer.project.sentences import finding_of

FamilyName = Literal["keyed-cone", "keyed-cylinder", "six-hole"]
FAMILIES: tuple[FamilyName, ...] = ("keyed-cone", "keyed-cylinder", "six-hole")
BoreKind = Literal["cone", "cylinder"]
ReedKind = Literal["double", "single"]
Diameter = Annotated[float | None, Field(gt=0, le=200)]


class AnswersError(Fault):
    """Answers that make no project: `findings` holds one for each thing to mend, its path the answer."""

    def __init__(self, findings: list[Finding]) -> None:
        self.findings = findings
        super().__init__(*sentences_of(findings), heading="the answers make no project")


def _one_line(name: str) -> str:
    if not name.isprintable():
        raise ValueError("must be one line of letters, digits and signs")
    return name


class InstrumentAnswers(Section):
    """Answers on the instrument itself; left out or None: the usual one, or by the family and the pitch."""

    name: Annotated[str, Field(min_length=1, max_length=80), AfterValidator(_one_line)] = "My reed pipe"
    family: FamilyName = "keyed-cone"
    bore: BoreKind | None = None
    reed: ReedKind | None = None
    note_names: NamesOfNotes = "english"
    lowest: Annotated[str | None, Field(max_length=8, description="lowest written note")] = None
    transposition_semitones: Annotated[int, Field(ge=-36, le=36)] = 0
    notes: Annotated[int | None, Field(ge=2, le=40, description="semitones of its range")] = None
    forks: bool = True
    vents: bool = True
    side_keys: bool = True
    rows: bool = False
    reed_end_mm: Diameter = None
    bell_mm: Diameter = None


class Answers(InstrumentAnswers):
    """All answers, with the files that they name."""

    bore_table: Path | None = None
    hand: Path | None = None
    printer: Path | None = None
    stock: Path | None = None


def answers_of(said: dict[str, Any]) -> Answers:
    """Answers as they were said, each in words or as its value.

    Raises
    ------
    AnswersError
        with everything that is none
    """
    try:
        return Answers.model_validate(said)
    except ValidationError as error:
        raise AnswersError([finding_of(each, Answers, ()) for each in error.errors()]) from None
