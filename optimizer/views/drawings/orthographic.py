"""The pieces put together, in three views at right angles: from the front, from the side and from the reed end.

What lies behind is drawn first: flats and feet turned away, then the bodies, then what is turned to the reader.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, radians, sin

from optimizer.handoff.shapes.discs import Disc, discs_of, foot_height_mm
from optimizer.handoff.shapes.outline import Outline, radius_at
from optimizer.handoff.shapes.shape import Drawing, Hole, Piece
from optimizer.views.drawings.canvas import Canvas, Point

EDGE_MM = 4.0
TURNS = {"the front": 0.0, "the side": 90.0}
"""Azimuths that the long views are seen from."""


def orthographic(drawing: Drawing) -> list[Canvas]:
    """The three views, the long ones with the reed end left.

    Parameters
    ----------
    drawing : in finished sizes
    """
    return [*(_Long(drawing, seen_from).drawn() for seen_from in TURNS), _end_view(drawing)]


def _reach_mm(drawing: Drawing) -> float:
    """A radius that nothing exceeds, with an edge [mm]."""
    return max(piece.beyond_mm for piece in drawing.pieces) + EDGE_MM


@dataclass
class _Long:
    """A view at right angles to the bore: z to the right, azimuths beyond that of the view downward."""

    drawing: Drawing
    seen_from: str

    def drawn(self) -> Canvas:
        drawing, reach = self.drawing, _reach_mm(self.drawing)
        last = drawing.pieces[-1]
        length = last.begin_mm + last.length_mm + 2.0 * EDGE_MM
        canvas = Canvas(length, 2.0 * reach, f"the pieces from {self.seen_from}", "solid-long")
        discs = [(piece, disc) for piece in drawing.pieces for disc in discs_of(piece)]
        discs.sort(key=lambda each: (isinstance(each[1], Hole), self._turned(each[1])[0]))
        self._discs(canvas, [each for each in discs if self._turned(each[1])[0] <= 0.0])
        if drawing.crook:
            self._outline(canvas, drawing.crook.outside, 0.0)
        for piece in drawing.pieces:  # a socket hides the tenon in it
            self._outline(canvas, piece.outside, piece.begin_mm)
        self._discs(canvas, [each for each in discs if self._turned(each[1])[0] > 0.0])
        return canvas

    def _at(self, z: float, across: float) -> Point:
        return z + EDGE_MM, across + _reach_mm(self.drawing)

    def _turned(self, disc: Disc) -> tuple[float, float]:
        """How much of a height above the axis points to the reader, and how much downward."""
        turn = radians(disc.azimuth_deg - TURNS[self.seen_from])
        return cos(turn), sin(turn)

    def _outline(self, canvas: Canvas, line: Outline, begin: float) -> None:
        below = [self._at(begin + z, -r) for z, r in reversed(line)]
        canvas.polygon("outside", [self._at(begin + z, r) for z, r in line] + below)

    def _discs(self, canvas: Canvas, discs: Sequence[tuple[Piece, Disc]]) -> None:
        """Discs with what stands out of the body below them; of holes turned away nothing is seen."""
        for piece, disc in discs:
            near, down = self._turned(disc)
            z, half, top = piece.begin_mm + disc.z_mm, 0.5 * disc.wide_mm, disc.top_mm * down
            if isinstance(disc, Hole):
                if near > 0.0:
                    canvas.oval("hole", self._at(z, top), disc.round_mouth_mm, disc.round_mouth_mm * near)
                continue
            low = foot_height_mm(disc, radius_at(piece.outside, disc.z_mm)) * down
            sides = ((z - half, low), (z + half, low), (z + half, top), (z - half, top))
            canvas.polygon("outside", [self._at(*each) for each in sides])
            if near > 0.0:
                canvas.oval("outside", self._at(z, top), disc.wide_mm, disc.wide_mm * near)


def _end_view(drawing: Drawing) -> Canvas:
    """From the reed end: the front up, azimuths clockwise."""
    reach = _reach_mm(drawing)
    canvas, middle = Canvas(2.0 * reach, 2.0 * reach, "the pieces from the reed end", "solid-end"), (reach, reach)
    for piece in reversed(drawing.pieces):
        for disc in discs_of(piece):
            if not isinstance(disc, Hole):
                turn, half = radians(disc.azimuth_deg), 0.5 * disc.wide_mm
                corners = ((-half, 0.0), (half, 0.0), (half, disc.top_mm), (-half, disc.top_mm))
                canvas.polygon(
                    "outside",
                    [
                        (reach + h * sin(turn) + v * cos(turn), reach - h * cos(turn) + v * sin(turn))
                        for v, h in corners
                    ],
                )
        canvas.circle("outside", middle, 2.0 * max(radius for _, radius in piece.outside))
    first = drawing.crook or drawing.pieces[0]
    canvas.circle("outside", middle, 2.0 * first.outside[0][1])
    canvas.circle("hole", middle, 2.0 * first.inside[0][1])
    return canvas
