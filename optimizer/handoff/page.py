"""The page of a hand-off: what lies in its folder, pictures of the pieces, what to do to the holes, the cautions."""

from collections.abc import Sequence
from typing import NamedTuple

from optimizer.handoff.handed import Handed
from optimizer.handoff.kinds import KINDS
from optimizer.handoff.shapes.bent import courses
from optimizer.handoff.shapes.shape import PieceBend, in_file_names
from optimizer.handoff.sheets.drilling import drilled, drilling_table, shown_columns
from optimizer.handoff.sheets.pictures import picture_of
from optimizer.handoff.sheets.profiles import profiles_of
from optimizer.records.handoff import HandedPiece, HandoffRecord, PieceCheck
from optimizer.views.body_words import seen_words
from optimizer.views.drawings.body import body_drawing
from optimizer.views.drawings.canvas import Canvas
from optimizer.views.drawings.folded import folded_drawing
from optimizer.views.html import rendered
from optimizer.views.settling import settling_lines
from optimizer.views.table import Cell, Column, Table, tabled

FILE = "index.html"
SAME_MM = 0.05
"""Two legs whose ends lie no farther apart stand on the bed alike."""


class ShownPiece(NamedTuple):
    """A piece in the page: a heading, what is said of it, its half profile or those of its tubes and bends."""

    title: str
    said: list[str]
    pictures: list[Canvas]


def handoff_page(made: HandoffRecord, handed: Handed) -> str:
    """The page.

    Parameters
    ----------
    made : what the folder holds
    handed : what was handed over
    """
    shown = [
        ShownPiece(
            f"Piece {told.number}, {made.printed.state}",
            said_of(told, piece.bends),
            [picture_of(plan) for plan in profiles_of(handed.drawing, piece)],
        )
        for told, piece in zip(made.printed.pieces, handed.drawing.pieces, strict=True)
    ]
    return rendered(
        "handoff.html",
        title=f"{made.instrument}, layout {made.layout}: hand-off",
        states=state_lines(made),
        printed=printed_words(made),
        paper=made.paper,
        remarks=settling_lines(made.remarks),
        body=body_drawing(handed.record),
        seen=f"The whole instrument. {seen_words(handed.record)}; the crook is drawn straight.",
        folded=folded_drawing(handed.record),
        files=files_table(made),
        not_written=made.left_out,
        pieces=shown,
        checks=_checks_table(made.checks) if made.checks else None,
        drilling=shown_columns(drilling_table(drilled(handed.finished, handed.record, handed.printed, handed.advice))),
        cautions=made.cautions,
    )


def state_lines(made: HandoffRecord) -> list[str]:
    """What the sizes of each state are, and how names of files tell it."""
    return [f"{state.words} Names of files: -{in_file_names(state.state)}." for state in made.states]


def printed_words(made: HandoffRecord) -> str:
    """What `as-printed.json` holds."""
    return f"{made.as_printed} is the layout as it comes from the printer, {made.printed.state}."


def said_of(piece: HandedPiece, bends: Sequence[PieceBend]) -> list[str]:
    """What is to be known of a piece, a sentence each."""
    along = " along its centre line, its tubes" if bends else " long,"
    sizes = f"{piece.length_mm:.2f} mm{along} {piece.widest_mm:.2f} mm wide"
    stands = f"standing on its {piece.down} end"
    if len(bends) > 1:  # which may lie lower than both ends
        stands = "with its reed end down, and let the slicer hold up what hangs"
    first = "It is made already." if piece.locked else f"{sizes}; print it {stands}."
    return [first, *_hanging(piece, bends), *piece.left_out]


def _hanging(piece: HandedPiece, bends: Sequence[PieceBend]) -> list[str]:
    """That a piece with one bend, both its ends down, stands on its longer leg alone."""
    apart = abs(float(courses(bends)[-1].at(piece.length_mm)[2]))
    if len(bends) != 1 or piece.locked or apart < SAME_MM:
        return []
    other = "reed" if piece.down == "bell" else "bell"
    return [f"Its bend is up, and its {other} end hangs {apart:.2f} mm above the bed: let the slicer hold it up."]


def files_table(made: HandoffRecord) -> Table:
    """A row for each kind: what it is, and its files."""
    kinds = list(dict.fromkeys(file.kind for file in made.files))
    columns = [
        Column[str]("kind", lambda kind: kind),
        Column[str]("what", lambda kind: KINDS[kind].told if kind in KINDS else "of the whole folder", wraps=True),
        Column[str]("files", lambda kind: " ".join(file.file for file in made.files if file.kind == kind), wraps=True),
    ]
    return tabled("Files", columns, kinds)


def _checks_table(checks: Sequence[PieceCheck]) -> Table:
    """A row for each file that was held against the layout."""
    keys = list(dict.fromkeys(key for check in checks for key in check.figures))
    columns = [Column[PieceCheck]("file", lambda check: check.file)]
    columns += [_checked(key) for key in keys]
    return tabled("Checks", columns, checks)


def _checked(key: str) -> Column[PieceCheck]:
    return Column(key, lambda check: _shown(check.figures.get(key)), right=True)


def _shown(figure: float | int | bool | str | None) -> Cell | None:
    """A figure of a check in words."""
    if figure is None:
        return None
    if isinstance(figure, bool):
        return Cell("yes" if figure else "no", "good" if figure else "bad")
    return Cell(figure if isinstance(figure, str) else f"{figure:.6g}")
