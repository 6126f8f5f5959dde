"""The pieces of a layout put together, for a page: drawings, the scene of its viewer, and what is not drawn."""

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass

from optimizer.handoff.meshes.scene import scene_of
from optimizer.handoff.shapes.drawing import ShapeError, drawn
from optimizer.records.layout import LayoutRecord
from optimizer.views.drawings.canvas import Canvas
from optimizer.views.drawings.orthographic import orthographic


class Json(str):
    """JSON within a page, of letters that no markup is made of."""

    def __html__(self) -> str:
        return self.replace("<", "\\u003c").replace("&", "\\u0026")


@dataclass(frozen=True)
class Solid:
    """Drawings of the pieces, none of a folded body, which has its own, or where none can be made; the scene; what is
    said of what is not drawn; how it lies, empty where there is none."""

    views: Sequence[Canvas]
    scene: Json
    said: Sequence[str]
    lies: str = ""


def solid_of(record: LayoutRecord) -> Solid:
    """The pieces of a layout; without drawings, and with the reasons, where it makes none."""
    try:
        drawing = drawn(record)
    except ShapeError as error:
        return Solid([], Json(), [f"No solid can be made of it: {said}." for said in error.problems])
    said = [f"{piece.name}: {left}" for piece in drawing.pieces for left in piece.left_out]
    scene = Json(json.dumps(asdict(scene_of(drawing)), separators=(",", ":")))
    if drawing.bends:
        return Solid([], scene, said, "folded as it is held")
    return Solid(orthographic(drawing), scene, said, "on one straight axis")
