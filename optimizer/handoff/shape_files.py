"""Writers of the pieces as shapes, each held against the layout before it is written."""

from pathlib import Path
from typing import TYPE_CHECKING

from optimizer.records.handoff import PieceCheck

if TYPE_CHECKING:
    from optimizer.handoff.kinds import Handed
    from optimizer.handoff.mesh_checks import Checked


def write_meshes(handed: "Handed", folder: Path) -> list[PieceCheck]:
    """The pieces for the slicer."""
    from optimizer.handoff.slicer_files import slicer_files

    found = slicer_files(handed.drawing, handed.record.printing)
    for file in found:
        (folder / file.name).write_bytes(file.content)
    return [PieceCheck(file=file.name, figures=_mesh_figures(file.checked)) for file in found]


def write_steps(handed: "Handed", folder: Path) -> list[PieceCheck]:
    """The pieces for CAD: finished, and in the state that is wanted where that is another."""
    from optimizer.handoff.step_files import write_step_files

    drawings = {each.sizing.state: each for each in (handed.finished, handed.drawing)}
    found = write_step_files(handed.record, list(drawings.values()), folder)
    return [PieceCheck(file=check.file, figures=check.figures) for check in found]


def _mesh_figures(checked: "Checked") -> dict[str, float | int | bool | str]:
    """What a mesh came to; its volume against arithmetic where there is any."""
    surface = checked.surface
    figures: dict[str, float | int | bool | str] = {
        "closed": surface.closed,
        "solids": surface.bodies,
        "open_holes": -surface.euler // 2,
        "holes_wanted": len(checked.piece.holes),
        "volume_mm3": round(surface.volume_mm3, 1),
        "box_mm": " x ".join(f"{side:.1f}" for side in surface.box_mm),
        "thinnest_wall_mm": round(checked.thinnest.mm, 3),
        "triangles": checked.triangles,
    }
    return figures if checked.off is None else figures | {"volume_off": float(f"{checked.off:.2e}")}
