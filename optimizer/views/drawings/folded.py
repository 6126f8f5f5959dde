"""A folded body as it is held, to scale: seen from the front and from the player's right, reed end up.

Tubes and bends with the bore in them, holes with their cups, touches, rods and joints where they are in space; what
looks away is dashed. Which tube hides another is not drawn: all are seen through.
"""

import math
from itertools import pairwise

import numpy as np

from acoustics.arrays import Floats
from optimizer.geometry.fold import Fold
from optimizer.geometry.space import Places
from optimizer.records.layout import LayoutRecord
from optimizer.records.mass import bore_diameter_mm
from optimizer.views.drawings.body import radius_mm
from optimizer.views.drawings.canvas import Canvas, Point

STEP_MM, EDGE_MM, GAP_MM, LETTER_MM = 4.0, 24.0, 60.0, 11.0
"""How finely the outline follows a bend; room round the drawing and between both views; height of letters."""

FRONT, RIGHT = (0.0, -1.0), (1.0, 0.0)
"""What of a point's two ways across the tubes, toward the front and toward the player's right, goes to the right in the
drawing: who looks from the front has the player's right on the left; who looks from the player's right, the front on
the right."""


class View:
    """One of both views: where points in space lie in the drawing."""

    def __init__(self, record: LayoutRecord, across: tuple[float, float]) -> None:
        self.record, self.fold, self._across, self._shift = record, Fold(record.bore.bends), across, (0.0, 0.0)
        outline = [edge for part in self.outlines(record.bore.wall_mm) for edge in part]
        self.low, self.high = np.min(outline, axis=0), np.max(outline, axis=0)

    def placed(self, left: float, top: float) -> None:
        """Put the view's upper left corner somewhere in the drawing."""
        self._shift = left - float(self.low[0]), top - float(self.low[1])

    def at(self, position: float, azimuth: float, height: float) -> Point:
        """A place on the body in the drawing; azimuth in radians."""
        points = self.fold.points(Places(*map(np.array, (position, azimuth, height))))
        x = self._across[0] * float(points.y) + self._across[1] * float(points.z)
        return x + self._shift[0], float(points.x) + self._shift[1]

    def near(self, azimuth_deg: float) -> float:
        """How much what looks out at an azimuth looks at the reader: 1 straight at them, below 0 away."""
        turn = math.radians(azimuth_deg)
        return self._across[0] * math.sin(turn) - self._across[1] * math.cos(turn)

    def outlines(self, wall: float) -> list[list[Point]]:
        """Outlines of crook, tubes and bends, so thick beyond the bore, as they are seen."""
        bore = self.record.bore
        turns = [end for bend in bore.bends for end in (bend.at_mm, bend.end_mm)]
        ends = sorted({0.0, bore.crook_end_mm, *turns, bore.points_mm[-1][0]})
        return [
            self._outline(np.linspace(low, high, 2 + int((high - low) / STEP_MM)), wall) for low, high in pairwise(ends)
        ]

    def _outline(self, places: Floats, wall: float) -> list[Point]:
        """The outline of a stretch: its centre line widened to both sides, or of a bend seen edge on, a box."""
        middle = np.array([self.at(float(place), 0.0, 0.0) for place in places])
        radius = 0.5 * np.array([bore_diameter_mm(self.record.bore, float(place)) for place in places]) + wall
        if np.ptp(middle[:, 0]) < 1e-6:
            ends = np.array([0, int(np.argmax(abs(middle[:, 1] - middle[0, 1])))])
            beyond = np.sign(middle[ends[1], 1] - middle[0, 1]) * radius[ends[1]] * (ends[1] < len(places) - 1)
            x, (top, foot), (first, last) = middle[0, 0], middle[ends, 1] + [0.0, beyond], radius[ends]
            return [(x - first, top), (x - last, foot), (x + last, foot), (x + first, top)]
        near = [self.at(float(place) + 1e-3, 0.0, 0.0) for place in places[:-1]]
        way = np.array([*near, middle[-1]]) - np.array([*middle[:-1], self.at(float(places[-1]) - 1e-3, 0.0, 0.0)])
        side = np.stack([way[:, 1], -way[:, 0]], axis=1) / np.hypot(way[:, 0], way[:, 1])[:, None]
        edges = [middle + sign * radius[:, None] * side for sign in (1.0, -1.0)]
        return [(float(x), float(y)) for x, y in (*edges[0], *edges[1][::-1])]

    def drawn(self, drawing: Canvas) -> None:
        """The body and all that stands on it."""
        crook = self.record.bore.crook_end_mm > 0.0
        for wall, kind in ((self.record.bore.wall_mm, "outside"), (0.0, "inside")):
            for number, outline in enumerate(self.outlines(wall)):
                drawing.polygon("crook" if crook and number == 0 and kind == "outside" else kind, outline)
        for piece in self.record.pieces:
            if piece.joint is not None:
                half = 0.5 * piece.joint.socket_outer_diameter_mm
                x, y = self.at(piece.joint.at_mm, 0.0, 0.0)
                drawing.line("joint", (x - half, y), (x + half, y))
        self._keywork(drawing)
        for hole in self.record.holes:
            self._disc(drawing, "hole", hole.position_mm, hole.azimuth_deg, hole.top_diameter_mm, hole.id)
            if hole.pad is not None:
                self._disc(drawing, "cup", hole.position_mm, hole.azimuth_deg, hole.pad.cup_diameter_mm, hole.id)

    def _keywork(self, drawing: Canvas) -> None:
        """Rods from post to post, touches and fingers."""
        for key in self.record.keys:
            if key.axle is not None and len(key.axle.posts) > 1:
                turn = math.radians(key.axle.azimuth_deg)
                ends = [
                    self.at(post.position_mm, turn, radius_mm(self.record, post.position_mm) + key.axle.height_mm)
                    for post in key.axle.posts
                ]
                drawing.line("rod", ends[0], ends[-1])
            if key.touch_position_mm is not None and not key.moved_by:
                told = f"{key.id}: touched by {key.touch}"
                self._disc(drawing, "touch", key.touch_position_mm, key.touch_azimuth_deg or 0.0, 6.0, told)

    def _disc(self, drawing: Canvas, kind: str, position: float, azimuth_deg: float, across: float, told: str) -> None:
        """Something round on the body's surface, as it is seen."""
        near = self.near(azimuth_deg)
        centre = self.at(position, math.radians(azimuth_deg), radius_mm(self.record, position))
        drawing.oval(f"{kind} far" if near < -1e-9 else kind, centre, max(across * abs(near), 1.5), across, told)

    def named(self, drawing: Canvas) -> None:
        """Names of the holes beside them."""
        for hole in self.record.holes:
            x, y = self.at(hole.position_mm, math.radians(hole.azimuth_deg), radius_mm(self.record, hole.position_mm))
            drawing.text("soft", (x + 0.5 * hole.top_diameter_mm + 3.0, y + 4.0), hole.id, **{"font-size": LETTER_MM})


def folded_drawing(record: LayoutRecord) -> Canvas | None:
    """Both views; None of a body that is not folded.

    Parameters
    ----------
    record : the layout
    """
    if not record.bore.bends:
        return None
    views = [(View(record, FRONT), "from the front"), (View(record, RIGHT), "from the right")]
    sizes = [view.high - view.low for view, _ in views]
    width = 2.0 * EDGE_MM + GAP_MM + sum(float(size[0]) for size in sizes) + 2.0 * GAP_MM
    height = 2.0 * EDGE_MM + float(sizes[0][1]) + 2.0 * LETTER_MM
    label = f"{record.instrument}, layout {record.id}: the folded body to scale, from the front and from the right"
    drawing, left = Canvas(width, height, label, "folded"), EDGE_MM
    for (view, words), size in zip(views, sizes, strict=True):
        view.placed(left, EDGE_MM + 2.0 * LETTER_MM)
        drawing.text("soft", (left, EDGE_MM), words, **{"font-size": LETTER_MM})
        view.drawn(drawing)
        view.named(drawing)
        left += float(size[0]) + GAP_MM + GAP_MM
    return drawing
