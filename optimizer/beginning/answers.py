"""What a maker is asked before there is a project file: about ten answers, most with a usual one."""

from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from optimizer.project.numbers import Positive, Section

FamilyName = Literal["keyed-cone", "keyed-cylinder", "six-hole"]
FAMILIES: tuple[FamilyName, ...] = ("keyed-cone", "keyed-cylinder", "six-hole")
BoreKind = Literal["cone", "cylinder"]
ReedKind = Literal["double", "single"]


class Answers(Section):
    """The answers; None stands for the usual one."""

    name: Annotated[str, Field(min_length=1, max_length=80)] = "My reed pipe"
    family: FamilyName = "keyed-cone"
    bore: BoreKind | None = None
    reed: ReedKind | None = None
    lowest: str | None = None
    transposition_semitones: Annotated[int, Field(ge=-36, le=36)] = 0
    notes: Annotated[int | None, Field(ge=2, le=40)] = None
    forks: bool = True
    vents: bool = True
    side_keys: bool = True
    rows: bool = False
    reed_end_mm: Positive | None = None
    bell_mm: Positive | None = None
    bore_table: Path | None = None
    hand: Path | None = None
    printer: Path | None = None
    stock: Path | None = None
