"""A layout's pieces put together as they are played, as a coarse mesh in few bytes, for a page to turn and cut open.

Millimetres of the finished instrument: z from the reed end of the bore, x toward the front. All corners are counted in
steps from the least of each axis, in two bytes each, and so are the numbers of each part's corners.
"""

import base64
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from optimizer.geometry.fold import Fold
from optimizer.handoff.meshes.mesh import COARSE, Mesh, crook_mesh, piece_mesh
from optimizer.handoff.shapes.bent import placed
from optimizer.handoff.shapes.shape import Drawing

STEPS = 65535


@dataclass(frozen=True)
class Scene:
    """What a page needs: parts as (name, corners, triangles); one step and the least corner [mm]; corners (x, y, z),
    then numbers of corners, of one part after the other, little-endian in base64 of the letters
    that addresses have."""

    parts: list[tuple[str, int, int]]
    step_mm: float
    least_mm: list[float]
    data: str


def scene_of(drawing: Drawing) -> Scene:
    """The scene of a layout.

    Parameters
    ----------
    drawing : in finished sizes
    """
    meshes = list(_meshes(drawing))
    corners = np.concatenate([mesh.corners for _, mesh in meshes])
    least = corners.min(axis=0)
    step = float(np.ptp(corners, axis=0).max() / STEPS)
    pieces = [
        np.round((mesh.corners - least) / step).astype("<u2").tobytes() + mesh.triangles.astype("<u2").tobytes()
        for _, mesh in meshes
    ]
    return Scene(
        parts=[(name, len(mesh.corners), len(mesh.triangles)) for name, mesh in meshes],
        step_mm=step,
        least_mm=[round(float(place), 4) for place in least],
        data=base64.urlsafe_b64encode(b"".join(pieces)).decode(),
    )


def _meshes(drawing: Drawing) -> Iterator[tuple[str, Mesh]]:
    """Every part where it belongs along the instrument."""
    if drawing.crook is not None:
        yield "crook", crook_mesh(drawing.crook, COARSE)
    fold = Fold(drawing.bends)
    for piece in drawing.pieces:
        yield piece.name, piece_mesh(piece, COARSE).moved(*placed(fold, piece.begin_mm))
