"""Pieces laid on the printer's bed as they are to be printed: which end or side goes down, and where they stand."""

import numpy as np

from acoustics.arrays import Floats
from optimizer.handoff.meshes.mesh import GRID_MM, Mesh
from optimizer.handoff.shapes.shape import Piece
from optimizer.project.printer import axis_along, usable_mm
from optimizer.records.pieces import PrintingRecord

REED_DOWN = np.eye(3)
BELL_DOWN = np.diag([1.0, -1.0, -1.0])
ALONG_X = np.array([[0.0, 0.0, 1.0], [0.0, -1.0, 0.0], [1.0, 0.0, 0.0]])
"""Lying with its front up and its bell end to the right."""
ALONG_Y = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]])


def turn_of(piece: Piece, printing: PrintingRecord | None) -> Floats:
    """How a piece is turned from its own frame to the printer's, a rotation (3, 3); one that has a bend, bend up.

    Parameters
    ----------
    piece : to be printed
    printing : the printer; standing without one
    """
    if printing is None or printing.orientation == "standing":
        return REED_DOWN if piece.down == "reed" or piece.bends else BELL_DOWN
    along = axis_along(printing.orientation, usable_mm(printing.bed_mm, printing.margin_mm))
    return ALONG_X if along == 0 else ALONG_Y


def laid(mesh: Mesh, piece: Piece, printing: PrintingRecord | None) -> Mesh:
    """A piece's mesh as it stands on the bed: z up from the bed, in the bed's middle.

    Parameters
    ----------
    mesh : in the piece's own frame
    piece : whose it is
    printing : the printer; without one it stands in a corner
    """
    turned = mesh.moved(turn_of(piece, printing), (0.0, 0.0, 0.0))
    low, high = turned.corners.min(axis=0), turned.corners.max(axis=0)
    middle = 0.5 * (high - low) if printing is None else 0.5 * np.array(printing.bed_mm)
    shift = np.array([*(middle - 0.5 * (low + high))[:2], -low[2]])
    return turned.moved(np.eye(3), np.round(shift / GRID_MM) * GRID_MM)


def how_laid(piece: Piece, printing: PrintingRecord | None) -> str:
    """How a piece is to be printed, in words.

    Parameters
    ----------
    piece : to be printed
    printing : the printer; standing without one
    """
    if printing is None or printing.orientation == "standing":
        return f"standing, {piece.down} end down"
    return "lying, front up"
