"""Files of a layout's pieces for the slicer: each as it is to be printed, in STL and 3MF, read back and held against
the piece before anything is handed over."""

from typing import NamedTuple

from optimizer.handoff.meshes.laid import how_laid, laid
from optimizer.handoff.meshes.mesh import piece_mesh
from optimizer.handoff.meshes.mesh_checks import Checked, checked
from optimizer.handoff.meshes.mesh_formats import read_stl, read_three_mf, stl, three_mf
from optimizer.handoff.shapes.shape import Drawing, Piece
from optimizer.project.faults import Fault
from optimizer.records.pieces import PrintingRecord

FORMATS = {"stl": (stl, read_stl), "3mf": (three_mf, read_three_mf)}
"""By suffix, how a mesh is written and read back."""


class SlicerFile(NamedTuple):
    """A file of one piece: its name, its bytes, and the piece held against what is read back from them."""

    name: str
    content: bytes
    checked: Checked


def slicer_files(drawing: Drawing, printing: PrintingRecord | None) -> list[SlicerFile]:
    """The pieces of a layout that are to be printed, a file of each in every format.

    Parameters
    ----------
    drawing : in the sizes that are wanted
    printing : the printer, None where none is told

    Raises
    ------
    Fault
        for pieces that must not be handed over
    """
    made = [piece for piece in drawing.pieces if not piece.locked or drawing.sizing.state == "finished"]
    files = [file for piece in made for file in _files_of(drawing, piece, printing)]
    problems = dict.fromkeys(said for file in files for said in file.checked.problems)
    if problems:
        raise Fault(*problems, heading=f"layout {drawing.layout} is not written for the slicer")
    return files


def _files_of(drawing: Drawing, piece: Piece, printing: PrintingRecord | None) -> list[SlicerFile]:
    """A piece in every format, held against what is read back."""
    mesh, title = laid(piece_mesh(piece), piece, printing), title_of(drawing, piece, printing)
    files = []
    for suffix, (written, read) in FORMATS.items():
        content = written(mesh, title)
        files.append(SlicerFile(f"{piece.stem}.{suffix}", content, checked(piece, read(content), printing)))
    return files


def title_of(drawing: Drawing, piece: Piece, printing: PrintingRecord | None) -> str:
    """What a file calls its piece: which, in which sizes, how to slice and print it.

    Parameters
    ----------
    drawing : whose piece it is
    piece : which
    printing : the printer, None where none is told
    """
    sizing, many = drawing.sizing, f" of {piece.count}" if piece.count > 1 else ""
    factors = dict.fromkeys((f"{sizing.along:.4f}", f"{sizing.across:.4f}"))
    enlarged = f", enlarged x {' along, x '.join(factors)}{' across' * (len(factors) - 1)}, slice at 100 %"
    larger = "" if sizing.state == "finished" else enlarged
    return f"{piece.name}{many}, {sizing.state}{larger}; {how_laid(piece, printing)}; {drawing.instrument}"
