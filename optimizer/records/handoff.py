"""What was handed to the maker: the file that lies in every folder that `handoff` writes."""

from typing import Annotated, Literal

from pydantic import Field

from optimizer.records.files import SCHEMA_VERSION, Record
from optimizer.words import listed

FILE = "handoff.json"
AS_PRINTED = "as-printed.json"
"""The layout as it comes from the printer, beside `FILE`."""


class HandedFile(Record):
    """A file of the folder: its place in it, which kind it is of, its bytes and their hash."""

    file: str
    kind: str
    bytes: int
    sha256: str


class HandedPiece(Record):
    """A piece: how long and wide it is as it is drawn, which end stands on the printer's bed, what is left out."""

    number: int
    length_mm: float
    widest_mm: float
    down: Literal["reed", "bell"]
    locked: bool
    left_out: list[str] = Field(default_factory=list)


StateName = Literal["finished", "printed", "printed to ream"]


class HandedState(Record):
    """A state that shapes are drawn in: what its sizes are, how they follow from finished ones, and its pieces.

    hole_less_mm : by hole, how much narrower it is printed, to be reamed out to pitch
    """

    state: StateName
    words: str
    factor_along: float
    factor_across: float
    hole_more_mm: float
    hole_less_mm: dict[str, float]
    pieces: list[HandedPiece]


class PieceCheck(Record):
    """A file of a piece held against the layout: what of it was looked at, and what that came to."""

    file: str
    figures: dict[str, float | int | bool | str]


class NotWritten(Record):
    """A kind of file that was not written, and why."""

    kind: str
    why: str


class HandoffRecord(Record):
    """A folder for the maker.

    layout_sha256 : of the layout's JSON, as it is written there
    states : that its shapes are drawn in; the last of them is the one that is printed
    as_printed : the layout as it comes from the printer in that state, a file beside this one
    paper : of the sheets
    """

    schema_name: Literal["holewright-handoff"] = "holewright-handoff"
    schema_version: str = SCHEMA_VERSION
    instrument: str
    layout: str
    layout_sha256: str
    states: Annotated[list[HandedState], Field(min_length=1)]
    as_printed: str = AS_PRINTED
    paper: str
    files: list[HandedFile]
    checks: list[PieceCheck] = Field(default_factory=list)
    not_written: list[NotWritten] = Field(default_factory=list)
    remarks: Annotated[list[str], Field(description="what to know of it, a sentence each")]
    cautions: list[str]
    versions: dict[str, str]

    @property
    def left_out(self) -> list[str]:
        """Kinds that were not written, a sentence for each reason."""
        kinds: dict[str, list[str]] = {}
        for each in self.not_written:
            kinds.setdefault(each.why, []).append(each.kind)
        return [
            f"{listed(names)} {'was' if len(names) == 1 else 'were'} left out: {why}" for why, names in kinds.items()
        ]

    @property
    def printed(self) -> HandedState:
        """The state that is printed."""
        return self.states[-1]
