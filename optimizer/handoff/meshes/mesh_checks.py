"""What a mesh of a piece is held against before it is handed over, as figures, and in sentences where it fails."""

from dataclasses import dataclass

import numpy as np

from acoustics.arrays import Floats
from optimizer.handoff.meshes.mesh import Mesh
from optimizer.handoff.shapes.bed import lacking_room
from optimizer.handoff.shapes.shape import Piece
from optimizer.handoff.shapes.volume import volume_mm3
from optimizer.handoff.shapes.walls import Wall, thinnest
from optimizer.project.printer import Axes, usable_mm
from optimizer.records.pieces import PrintingRecord

VOLUME_OFF = 2e-4
"""How far a mesh's volume may be off by arithmetic, of itself."""


@dataclass(frozen=True)
class Surface:
    """A mesh as a surface: how many it is, whether every edge has two sides, V - E + F, volume [mm3], box (3,) [mm]."""

    bodies: int
    closed: bool
    euler: int
    volume_mm3: float
    box_mm: Floats


def surface_of(mesh: Mesh) -> Surface:
    """What a mesh is as a surface.

    Parameters
    ----------
    mesh : of any kind
    """
    count = len(mesh.corners)
    sides = np.concatenate([mesh.triangles[:, pair] for pair in ([0, 1], [1, 2], [2, 0])])
    there, back = (np.sort(sides[:, first] * count + sides[:, 1 - first]) for first in (0, 1))
    closed = bool(np.all(there[1:] != there[:-1])) and np.array_equal(there, back)
    edges = len(sides) // 2 if closed else np.unique(np.sort(sides, axis=1), axis=0).shape[0]
    used = int(np.count_nonzero(np.bincount(mesh.triangles.reshape(-1), minlength=count)))
    corners = mesh.corners[mesh.triangles]
    volume = np.einsum("ti,ti->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6.0
    box = np.ptp(mesh.corners, axis=0)
    return Surface(_bodies(sides, count, used), closed, used - edges + len(mesh.triangles), float(volume), box)


def _bodies(sides: np.ndarray, count: int, used: int) -> int:
    """How many parts hang together by edges, corners that no triangle has left out."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    graph = coo_array((np.ones(len(sides), bool), (sides[:, 0], sides[:, 1])), shape=(count, count))
    return int(connected_components(graph, directed=False, return_labels=False)) - (count - used)


@dataclass(frozen=True)
class Checked:
    """A piece's mesh held against the piece.

    arithmetic_mm3 : its volume by arithmetic; None where flats or holes overlap
    usable_mm : what the printer's bed leaves; None where no printer is told
    """

    piece: Piece
    surface: Surface
    triangles: int
    arithmetic_mm3: float | None
    usable_mm: Axes | None
    thinnest: Wall

    @property
    def off(self) -> float | None:
        """How far the volume is off by arithmetic, of itself."""
        return None if self.arithmetic_mm3 is None else self.surface.volume_mm3 / self.arithmetic_mm3 - 1.0

    @property
    def problems(self) -> list[str]:
        """Why the piece must not be handed over, a sentence each."""
        return [*self._as_a_surface(), *self._as_a_size()]

    def _as_a_surface(self) -> list[str]:
        name, surface, said = self.piece.name, self.surface, []
        if not surface.closed:
            said.append(f"the mesh of {name} is not closed")
        if surface.bodies != 1:
            said.append(f"{name} comes apart into {surface.bodies} bodies")
        if surface.bodies == 1 and surface.euler != -2 * len(self.piece.holes):
            said.append(
                f"{name} has {-surface.euler // 2} open holes, and {len(self.piece.holes)} are wanted: one does not "
                "break through, or two run into each other"
            )
        return said

    def _as_a_size(self) -> list[str]:
        name, said = self.piece.name, []
        if self.off is not None and not abs(self.off) <= VOLUME_OFF:
            said.append(f"the mesh of {name} has {100.0 * self.off:+.3f} % more volume than arithmetic says")
        if self.usable_mm is not None:
            said += lacking_room(name, self.surface.box_mm, self.usable_mm)
        return said


def checked(piece: Piece, mesh: Mesh, printing: PrintingRecord | None) -> Checked:
    """A piece's mesh held against the piece and the printer.

    Parameters
    ----------
    piece : as it is drawn
    mesh : as it stands on the bed
    printing : the printer, None where none is told
    """
    usable = usable_mm(printing.bed_mm, printing.margin_mm) if printing else None
    return Checked(piece, surface_of(mesh), len(mesh.triangles), volume_mm3(piece), usable, thinnest(piece))
