"""STEP files of a layout for CAD: one of each piece, and one of the whole instrument, on a straight axis or folded.

The kernel works in a process of its own. Every file is written beside the folder's others and read back; all come to
their places together, when none has failed.
"""

from collections.abc import Callable, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

from acoustics.arrays import Floats
from optimizer.geometry.fold import Fold
from optimizer.handoff.shapes.bent import Course, courses, placed
from optimizer.handoff.shapes.shape import Drawing, Piece, Sizing
from optimizer.handoff.step.kernel_process import CadKernel, cad_kernel
from optimizer.handoff.step.read_back import Found, HoleFigures
from optimizer.handoff.step.skeleton import Group, skeleton
from optimizer.handoff.step.step_checks import (
    StepCheck,
    drawn_holes,
    piece_check,
    recorded_holes,
    recorded_tubes,
    whole_check,
)
from optimizer.project.faults import Fault, writing
from optimizer.records.layout import LayoutRecord
from optimizer.records.pieces import PrintingRecord

SOURCE = "Holewright"
WHOLE = "whole-finished.step"


class StepError(Fault):
    """STEP files that are not what the layout says, so that none is written."""


def write_step_files(record: LayoutRecord, drawings: Sequence[Drawing], folder: Path) -> list[StepCheck]:
    """Write the STEP files of a layout.

    Parameters
    ----------
    record : the layout
    drawings : its pieces, a drawing for each state; the finished one makes the file of the whole instrument, too
    folder : that they come to

    Raises
    ------
    StepError
        when a file is not what the layout says; none is written then
    Fault
        where the kernel is not installed or fails, and where the folder cannot be written
    """

    def made(kernel: CadKernel, beside: Path) -> list[StepCheck]:
        return [check for drawing in drawings for check in _drawn(kernel, record, drawing, beside)]

    return _together(folder, made)


def write_piece_files(drawing: Drawing, printing: PrintingRecord | None, folder: Path) -> list[StepCheck]:
    """Write a STEP file of each piece, held against the piece alone.

    Parameters
    ----------
    drawing : whose pieces
    printing : the printer that is to have room for them; None for none
    folder : that they come to

    Raises
    ------
    StepError
        when a file is not what its piece is; none is written then
    Fault
        where the kernel is not installed or fails, and where the folder cannot be written
    """

    def made(kernel: CadKernel, beside: Path) -> list[StepCheck]:
        return [
            _of_piece(kernel, drawing, piece, drawn_holes(piece), courses(piece.bends), printing, beside)
            for piece in drawing.pieces
        ]

    return _together(folder, made)


def _together(folder: Path, make: Callable[[CadKernel, Path], list[StepCheck]]) -> list[StepCheck]:
    """Files made beside a folder, which come into it when all are what they should be."""
    with writing(folder), TemporaryDirectory(prefix=".step.", dir=folder) as beside, cad_kernel() as kernel:
        checks = make(kernel, Path(beside))
        problems = [said for check in checks for said in check.problems]
        if problems:
            raise StepError(*problems, heading="STEP files would not be what the layout says; none is written")
        for check in checks:
            (Path(beside) / check.file).replace(folder / check.file)
    return checks


def _of_piece(
    kernel: CadKernel,
    drawing: Drawing,
    piece: Piece,
    holes: Sequence[HoleFigures],
    tubes: Sequence[Course],
    printing: PrintingRecord | None,
    folder: Path,
) -> StepCheck:
    file = file_of(piece)
    found = kernel.ask(file, _piece_written, piece, _called(drawing), folder / file)
    return piece_check(file, piece, found, holes, printing, tubes)


def _drawn(kernel: CadKernel, record: LayoutRecord, drawing: Drawing, folder: Path) -> list[StepCheck]:
    """The files of one state: all pieces that are made in it; finished also the whole, and holes held against the
    record itself."""
    finished = drawing.sizing.state == "finished"
    printing = None if finished else record.printing
    checks = []
    for piece in drawing.pieces:
        if finished or not piece.locked:
            holes = recorded_holes(record, piece) if finished else drawn_holes(piece)
            tubes = recorded_tubes(record, piece) if finished else courses(piece.bends)
            checks.append(_of_piece(kernel, drawing, piece, holes, tubes, printing, folder))
    if finished:
        fold = Fold(drawing.bends)
        pieces = [
            (piece.name, folder / check.file, *placed(fold, piece.begin_mm))
            for piece, check in zip(drawing.pieces, checks, strict=True)
        ]
        found = kernel.ask(WHOLE, _whole_written, drawing, pieces, skeleton(record), folder / WHOLE)
        checks.append(whole_check(WHOLE, len(pieces) + (drawing.crook is not None), found, record))
    return checks


def file_of(piece: Piece) -> str:
    """What the file of a piece is called."""
    return f"{piece.stem}.step"


def _called(drawing: Drawing) -> str:
    return f"{drawing.instrument}, layout {drawing.layout}"


def state_words(sizing: Sizing) -> str:
    """What a file's sizes are, in its own head.

    Parameters
    ----------
    sizing : how they follow from finished ones
    """
    if sizing.state == "finished":
        return "finished sizes in mm"
    more = f"enlarged x {sizing.along:.4f} along and x {sizing.across:.4f} across, slice at 100 %"
    holes = f"holes {sizing.hole_more_mm:g} mm wider for what a print closes"
    reamed = ", and narrower by what is reamed out to pitch" if sizing.hole_less_mm else ""
    return f"sizes to print in mm, {more}; {holes}{reamed}"


def _piece_written(piece: Piece, called: str, path: Path) -> Found:
    """Of the kernel's process: a piece's file, and what is found in it."""
    from optimizer.handoff.step import built, kernel_files

    told = f"{called}, {piece.name}: {state_words(piece.sizing)}; z from its reed end, x to the front"
    part = kernel_files.Part(f"{piece.name}, {piece.sizing.state}", built.piece_solid(piece))
    kernel_files.write_step(path, part, told, SOURCE)
    return kernel_files.found_in(path)


def _whole_written(
    drawing: Drawing, pieces: Sequence[tuple[str, Path, Floats, Floats]], groups: Sequence[Group], path: Path
) -> Found:
    """Of the kernel's process: the file of the whole instrument, from those of its pieces, and what is found in it."""
    from optimizer.handoff.step import built, kernel_files

    parts = [
        kernel_files.Part(name, kernel_files.read_step(file), turn=turn, shift=shift)
        for name, file, turn, shift in pieces
    ]
    if drawing.crook is not None:
        parts.insert(0, kernel_files.Part("crook, drawn straight", built.crook_solid(drawing.crook)))
    keys = kernel_files.Part("axes, discs and points", None, [built.skeleton_part(group) for group in groups])
    folded = "all pieces as they are held, z down the instrument, x to the front, y to the player's right"
    lie = folded if drawing.bends else "all pieces on one straight axis"
    told = f"{_called(drawing)}: {state_words(drawing.sizing)}, {lie}"
    bent = ", the crook drawn straight, as its tube" if drawing.crook else ""
    kernel_files.write_step(path, kernel_files.Part(drawing.instrument, None, [*parts, keys]), f"{told}{bent}", SOURCE)
    return kernel_files.found_in(path)
