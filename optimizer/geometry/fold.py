"""How a body runs in space: the one map from places on it to points and back, straight or folded.

`space` has the straight body, whose centre line is the x axis. A folded one runs down and up in parallel tubes
(`project.bends`); x stays the depth, and azimuths count alike on every tube. In a bend the azimuth is that of the tube
before it, carried along. All works alike on numbers, arrays and duals, with slopes; of a straight body to the digit as
`space` has it.
"""

from collections.abc import Sequence

import numpy as np

from acoustics.arrays import Array, Floats
from acoustics.duals import value_of
from optimizer.geometry import space
from optimizer.geometry.space import Places, Points, Ways
from optimizer.project.bends import Bend, tubes_of


class Fold:
    """The course of a body; tubes count from the reed, from 0.

    Attributes
    ----------
    straight : whether it is not folded
    begin, end : (T,) where each tube begins and ends along the centre line [mm], the last without an end
    front, right : (T,) of its axis [mm]
    """

    def __init__(self, bends: Sequence[Bend]) -> None:
        tubes = tubes_of(bends)
        self.straight = not bends
        self.begin, self.end = np.array([tube.begin for tube in tubes]), np.array([tube.end for tube in tubes])
        self.front, self.right = np.array([tube.front for tube in tubes]), np.array([tube.right for tube in tubes])
        self._down, self._depth = np.array([tube.down for tube in tubes]), np.array([tube.depth for tube in tubes])
        self._bend_end = np.array([bend.end_mm for bend in bends])
        self._radius = np.array([*(bend.radius_mm for bend in bends), 1.0])
        self._toward = np.radians([*(bend.toward_deg for bend in bends), 0.0])

    def tube(self, position: Array) -> np.ndarray:
        """Number of the tube that places along the centre line lie on, of their shape; in a bend, of the one before."""
        return np.asarray(self._bend_end.searchsorted(value_of(position), side="right"))

    def down(self, position: Array) -> np.ndarray:
        """1 where the centre line runs down at places of any shape [mm], -1 where it runs up."""
        return np.asarray(self._down[self.tube(position)])

    def depth(self, position: Array) -> Array:
        """How far down the instrument the centre line lies at places of any shape [mm]."""
        if self.straight:
            return position
        along, angle, tube = self._along(position)
        return self._down[tube] * (along + self._radius[tube] * np.sin(angle)) + self._depth[tube]

    def carried(self, position: Array, tube: np.ndarray) -> Array:
        """The places beside others on given tubes: at their depth; what lies on its tube already stays.

        Parameters
        ----------
        position : along the centre line [mm], of any shape
        tube : on which each is wanted, of a shape that broadcasts
        """
        if self.straight:
            return position
        beside = self._down[tube] * (self.depth(position) - self._depth[tube]) + self.begin[tube]
        return np.where(self.tube(position) == tube, position, beside)

    def points(self, places: Places) -> Points:
        """Where places lie in space."""
        if self.straight:
            return space.points(places)
        along, angle, tube = self._along(places.position)
        toward, radius = self._toward[tube], self._radius[tube]
        inward = radius - places.height * np.cos(places.azimuth - toward)
        aside = inward * (1.0 - np.cos(angle))
        return Points(
            self._down[tube] * (along + inward * np.sin(angle)) + self._depth[tube],
            places.height * np.cos(places.azimuth) + aside * np.cos(toward) + self.front[tube],
            places.height * np.sin(places.azimuth) + aside * np.sin(toward) + self.right[tube],
        )

    def outward(self, places: Places) -> Points:
        """Directions outward at places, of length 1."""
        tip = self.points(places._replace(height=places.height + 1.0))
        return Points(*(there - here for here, there in zip(self.points(places), tip, strict=True)))

    def places(self, points: Points) -> Places:
        """The places that points (n,) [mm] are, on the tube or the bend that each lies nearest to; values alone."""
        found = [self._on_tube(tube, points) for tube in range(self.begin.size)]
        found += [self._on_bend(bend, points) for bend in range(self.begin.size - 1)]
        rows = [np.stack(column) for column in zip(*found, strict=True)]
        nearest = np.argmin(np.where(np.isnan(rows[0]), np.inf, rows[2]), axis=0)
        return Places(*(row[nearest, np.arange(nearest.size)] for row in rows))

    def ways_between(self, first: Places, second: Places) -> Ways:
        """The straight line from one place to another in parts, in broadcast shape; see `space.ways_between`.

        Along: down the instrument. Between tubes: outward along the mean of both normals, across at right angles to it.
        """
        ways = space.ways_between(first, second)
        if self.straight:
            return ways
        here, there = self.points(first), self.points(second)
        front, right = there.y - here.y, there.z - here.z
        middle = first.azimuth + 0.5 * space.shorter_way(second.azimuth - first.azimuth)
        apart = self.tube(first.position) != self.tube(second.position)
        outward = np.where(apart, front * np.cos(middle) + right * np.sin(middle), ways.outward)
        across = np.where(apart, right * np.cos(middle) - front * np.sin(middle), ways.across)
        return Ways(there.x - here.x, outward, across)

    def from_axis(self, foot: Places, seen: Points) -> tuple[Array, Array]:
        """Where points lie against the axis that stands upright on the body at a place, in broadcast shape.

        Parameters
        ----------
        foot : the place
        seen : the points [mm]

        Returns
        -------
        how far beside the axis they lie, and how far above the place [mm], below it where negative
        """
        upright = self.outward(foot)
        away = [there - here for here, there in zip(self.points(foot), seen, strict=True)]
        above = sum(way * part for way, part in zip(away, upright, strict=True))
        beside = np.sqrt(sum((way - above * part) ** 2 for way, part in zip(away, upright, strict=True)))
        return beside, above

    def carried_azimuth(self, begin_mm: float, position_mm: float, azimuth: float) -> float:
        """The azimuth [rad] of a place as it is carried back along the centre line to where a piece begins, and seen
        from there along it: through each bend mirrored at right angles to it, on a tube that runs up from side to side.
        """
        first = int(self.tube(begin_mm))
        for bend in reversed(range(first, int(self.tube(position_mm)))):
            azimuth = np.pi + 2.0 * float(self._toward[bend]) - azimuth
        return float(self._down[first]) * azimuth

    def _along(self, position: Array) -> tuple[Array, Array, np.ndarray]:
        """How far along its tube each place lies [mm], how far round the bend after it [rad], and the tube."""
        tube = self.tube(position)
        along, length = position - self.begin[tube], self.end[tube] - self.begin[tube]
        return np.minimum(along, length), np.maximum(along - length, 0.0) / self._radius[tube], tube

    def _on_tube(self, tube: int, points: Points) -> tuple[Floats, Floats, Floats]:
        """Points as places of a tube; not a number beyond its ends."""
        position = self._down[tube] * (points.x - self._depth[tube]) + self.begin[tube]
        front, right = points.y - self.front[tube], points.z - self.right[tube]
        off = (position < self.begin[tube]) | (position > self.end[tube])
        return np.where(off & (self.begin.size > 1), np.nan, position), np.arctan2(right, front), np.hypot(front, right)

    def _on_bend(self, bend: int, points: Points) -> tuple[Floats, Floats, Floats]:
        """Points as places of a bend; not a number beyond its ends."""
        down, radius, turn = self._down[bend], self._radius[bend], self._toward[bend]
        below = down * (points.x - self._depth[bend]) - (self.end[bend] - self.begin[bend])
        front, right = points.y - self.front[bend], points.z - self.right[bend]
        aside = front * np.cos(turn) + right * np.sin(turn)
        beside = right * np.cos(turn) - front * np.sin(turn)
        angle, inward = np.arctan2(below, radius - aside), radius - np.hypot(below, radius - aside)
        position = np.where(angle < 0.0, np.nan, self.end[bend] + radius * angle)
        return position, np.arctan2(beside, inward) + turn, np.hypot(beside, inward)
