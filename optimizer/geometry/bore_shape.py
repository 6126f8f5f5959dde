"""How the bore of a layout follows from its project's points and the numbers that shape it: the one place for that.

Numbers set the diameter at a few knots: reed end, staple's end, crook's end, where two cones meet, the last point.
Between knots what they add to the points is a straight line, so that straight parts stay straight and others keep
their shape. From the knot where the body begins angles go both ways: a crook's back to its staple, a cone's on toward
the bell. The bell is laid over the last line: it widens with the square of the way into it, or straight where a reamer
cuts it, and moves with the bore's end.

| quantity | shape | unit |
|---|---|---|
| points of a bore: place, diameter | (K,), (K,) | mm |
| knots | k | mm |
"""

from functools import cached_property
from itertools import product

import numpy as np

from acoustics.arrays import Array, Floats
from acoustics.bore import Bore, slice_positions
from acoustics.duals import value_of
from optimizer.geometry.bore_lines import BoreLines
from optimizer.geometry.layout import Layout, with_numbers
from optimizer.project.body import bore_ended
from optimizer.project.bore import BoreSection

MM = 1e-3
BELL_LINES = 6
"""So many straight lines make a bell that is not reamed."""


class BoreShape:
    """The bores that layouts of a project have.

    Attributes
    ----------
    bore : what the project says
    knots : where numbers set the diameter [mm]
    """

    def __init__(self, bore: BoreSection, parted_mm: Floats | tuple[float, ...] = ()) -> None:
        """Look at a project's bore.

        Parameters
        ----------
        bore : what the project says
        parted_mm : where two points lie at one place, so that each side can be widened by itself [mm]
        """
        self.bore = bore
        place, diameter = np.array(bore.points_mm, float).T
        last = place[-1]
        self._tip = bore.staple_end_mm if bore.crook_end_mm else 0.0
        self._body, self._meet = bore.body_begin_mm, bore.cones_meet_mm or last
        self.knots = np.unique([0.0, self._tip, self._body, self._meet, last])
        own = np.interp(self.knots, place, diameter)
        if bore.reamer:
            place, diameter = self.knots, own
        elif bore.shaped_by:
            place, diameter = _with_points(place, diameter, np.setdiff1d(self.knots, place))
        for parting in np.asarray(parted_mm, float):
            lacking = max(2 - int(np.sum(place == parting)), 0)
            place, diameter = _with_points(place, diameter, np.repeat(parting, lacking))
        self._place, self._diameter, self._at_knots = place, diameter, dict(zip(self.knots, own, strict=True))
        self._shares = np.stack([np.interp(place, self.knots, unit) for unit in np.eye(self.knots.size)], axis=1)
        self._along = np.linspace(0.0, 1.0, 2 if bore.reamer else BELL_LINES + 1)

    @cached_property
    def own_lines(self) -> BoreLines:
        """The bore by the points alone."""
        return BoreLines(self._place, self._diameter)

    @property
    def belled(self) -> bool:
        """Whether a bell is told apart."""
        return self.bore.bell_length_mm is not None

    def points(self, layout: Layout) -> tuple[Array, Array]:
        """Places and diameters (K,) [mm] of a layout's bore; its last line goes on to the end, where a bell ends."""
        diameter = self._diameter
        if self.bore.shaped_by:
            wanted = self._wanted(layout)
            more = np.stack([np.subtract(wanted[knot], self._at_knots[knot]) for knot in self.knots.tolist()])
            diameter = diameter + np.sum(self._shares * more, axis=1)
        if not self.belled:
            return self._place, layout.bore_scale * diameter
        slope = (diameter[-1] - diameter[-2]) / (self._place[-1] - self._place[-2])
        place = layout.end_mm - layout.bell_length_mm * (1.0 - self._along)
        deeper = self._along if self.bore.reamer else self._along**2
        bell = diameter[-2] + slope * (place - self._place[-2]) + layout.bell_flare_mm * deeper
        return np.concatenate([self._place[:-1], place]), np.concatenate([diameter[:-1], bell])

    def _wanted(self, layout: Layout) -> dict[float, Array]:
        """Diameter at each knot [mm]."""
        given, last = set(self.bore.shaped_by), float(self.knots[-1])
        tip, body, meet = self._tip, self._body, self._meet
        wanted: dict[float, Array] = dict(self._at_knots)
        if "reed_end_diameter_mm" in given:
            wanted[0.0] = layout.reed_end_diameter_mm
        if "crook_end_diameter_mm" in given:
            wanted[body] = layout.crook_end_diameter_mm
        if "crook_half_angle_deg" in given:
            wanted[tip] = wanted[body] - _widening(layout.crook_half_angle_deg) * (body - tip)
        if "cone_half_angle_deg" in given:
            wanted[meet] = wanted[body] + _widening(layout.cone_half_angle_deg) * (meet - body)
        if "lower_cone_half_angle_deg" in given:
            wanted[last] = wanted[meet] + _widening(layout.lower_cone_half_angle_deg) * (last - meet)
        return wanted

    def lines(self, layout: Layout) -> BoreLines:
        """A layout's bore as lines."""
        if self.still:
            return self._still_lines
        return BoreLines(*self.points(layout))

    def profile(self, layout: Layout) -> Bore:
        """A layout's bore as the acoustics want it (SI)."""
        place, diameter = self.points(layout)
        return Bore(place * MM, diameter * (0.5 * MM))

    def ended(self, layout: Layout) -> list[tuple[float, float]]:
        """Points of a layout's finished bore, place and diameter [mm], up to its end."""
        place, diameter = map(value_of, self.points(layout))
        return bore_ended(list(zip(place.tolist(), diameter.tolist(), strict=True)), float(value_of(layout.end_mm)))

    def slices(self, layout: Layout) -> Array:
        """Where to cut a layout's bore into slices (S,) [m]; as many for every layout of a project."""
        if not self.belled:
            return self._fixed_slices
        return np.concatenate([self._fixed_slices, self.points(layout)[0][-self._along.size :] * MM])

    @property
    def still(self) -> bool:
        """Whether all layouts have one bore, but for where it ends."""
        spans = [self.bore.diameter_scale, *(getattr(self.bore, name) for name in self.bore.shaped_by)]
        return not self.belled and all(low == high for low, high in spans)

    @cached_property
    def _still_lines(self) -> BoreLines:
        return BoreLines(*self.points(self.corners[0]))

    @cached_property
    def _fixed_slices(self) -> np.ndarray:
        """Of the widest layout, its last line carried on to the farthest end."""
        place, diameter = self._place, self.points(self.corners[-1])[1][: self._place.size]
        (s0, s1), (d0, d1) = place[-2:] * MM, diameter[-2:] * MM
        longest = max(self.bore.end_span_mm[1], place[-1]) * MM
        last = d0 + (d1 - d0) * (longest - s0) / (s1 - s0)
        ended = np.append(place[:-1] * MM, longest), np.append(diameter[:-1] * MM, last)
        return slice_positions(Bore(ended[0], ended[1] / 2))

    @cached_property
    def corners(self) -> list[Layout]:
        """Layouts without holes, of every combination of the ends of what shapes the bore; all at the high end last."""
        names = ["end_mm", "bore_scale", *self.bore.shaped_by]
        spans = [self.bore.end_span_mm, self.bore.diameter_scale, *(getattr(self.bore, name) for name in names[2:])]
        nothing = np.zeros(0)
        bare = Layout(nothing, nothing, nothing, nothing, nothing, nothing)
        chosen = product(*(dict.fromkeys(span) for span in spans))
        return [with_numbers(bare, dict(zip(names, map(np.asarray, values), strict=True))) for values in chosen]

    @cached_property
    def slopes(self) -> Floats:
        """Of all lines at every corner (C, K - 1) [1]."""
        return np.array([BoreLines(*self.points(corner)).slope for corner in self.corners])

    @cached_property
    def span_mm(self) -> tuple[float, float]:
        """Least and greatest diameter that any layout's bore has anywhere [mm]."""
        found = [[diameter for _, diameter in self.ended(corner)] for corner in self.corners]
        return min(map(min, found)), max(map(max, found))


def _widening(half_angle_deg: Array) -> Array:
    """What a cone's diameter grows by over its length [1]."""
    angle = half_angle_deg * (np.pi / 180.0)
    return 2.0 * np.sin(angle) / np.cos(angle)


def _with_points(place: Floats, diameter: Floats, more: Floats) -> tuple[Floats, Floats]:
    """Points of a bore [mm] with more of them on its lines."""
    within = more[more < place[-1]]
    at = np.searchsorted(place, within, side="right")
    return np.insert(place, at, within), np.insert(diameter, at, np.interp(within, place, diameter))
