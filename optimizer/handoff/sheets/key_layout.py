"""The keys laid flat on the body's surface at 1:1: holes, cups, axles, posts, touches, fittings; a folded body
tube by tube.

Every place lies at its own distance down the instrument, and as far round its tube as the body's own radius there makes
it. Crook and body are drawn along one straight line. Tubes of a folded body all have their upper end left, so that what
lies at one depth lies at one place on all of them; levers from tube to tube are named at both their ends.
"""

import math
from collections.abc import Iterator

from optimizer.handoff.shapes.held import Held
from optimizer.handoff.shapes.link_axis import link_axis
from optimizer.handoff.sheets.crossing_levers import Crossing, crossings
from optimizer.handoff.sheets.plan import Plan, Point
from optimizer.project.bends import depth_at
from optimizer.records.keys import KeyRecord
from optimizer.records.layout import HoleRecord, LayoutRecord

TOLD = (
    "Finished sizes, from the reed end of the bore. Azimuth grows downward, the front is the middle line; upper and "
    "lower edge are the back. Rods are drawn straight below where they run, on the body's surface."
)
TUBE_TOLD = (
    "Finished sizes, down the instrument from the reed end's level, upper end left, on every tube. The front is the "
    "middle line, the player's right below it; upper and lower edge are the back. Rods are drawn straight below where "
    "they run."
)
TOUCH_MM = 6.0


def key_plans(record: LayoutRecord) -> list[Plan]:
    """The plan of a straight body, `keys`; of a folded one, a plan for each tube, from the reed."""
    title = f"{record.instrument}: key layout"
    if not record.bore.bends:
        return [_Strip(record, Plan("keys", title, (TOLD,)), 0).drawn()]
    return [
        _Strip(record, Plan(f"keys-tube-{tube + 1}", f"{title} of tube {tube + 1}", (TUBE_TOLD,)), tube).drawn()
        for tube in range(len(record.bore.bends) + 1)
    ]


class _Strip:
    """A tube's surface laid flat, and its plan; the whole body where it is straight."""

    def __init__(self, record: LayoutRecord, plan: Plan, tube: int) -> None:
        self.record, self.plan, self.tube, self.held = record, plan, tube, Held(record)
        self._labels: list[tuple[Point, str, float]] = []
        bends, points = record.bore.bends, record.bore.points_mm
        self.ends = (
            bends[tube - 1].end_mm if tube else points[0][0],
            bends[tube].at_mm if tube < len(bends) else points[-1][0],
        )

    def drawn(self) -> Plan:
        """The plan, all that stands on the tube drawn on it."""
        self._body()
        for hole in self.record.holes:
            if self._has(hole.position_mm):
                self._hole(hole)
        for key in self.record.keys:
            self._axle(key)
            self._touch(key)
        for lever in crossings(self.held):
            self._crossing(lever)
        for fitting in self.record.fittings:
            if self._has(fitting.position_mm):
                x, y = self._place(fitting.position_mm, fitting.azimuth_deg)
                low, high = (x + side * fitting.length_mm / 2.0 for side in (-1.0, 1.0))
                half = fitting.width_mm / 2.0
                self.plan.closed("marks", [(low, y - half), (high, y - half), (high, y + half), (low, y + half)])
                self.plan.text((x, y), fitting.id.replace("_", " "), 2.0, anchor="middle")
        for label in self._labels:
            self.plan.label(*label)
        return self.plan

    def _label(self, at: Point, words: str, height_mm: float = 2.0) -> None:
        """Words that keep off all that is drawn, and so come last."""
        self._labels.append((at, words, height_mm))

    def _has(self, place_mm: float) -> bool:
        return self.held.tube(place_mm) == self.tube

    def _place(self, place_mm: float, azimuth_deg: float) -> Point:
        radius = self.record.bore.body_diameter_mm(place_mm) / 2.0
        return depth_at(self.record.bore.bends, place_mm), -radius * math.radians(azimuth_deg)

    def _body(self) -> None:
        """Edges at the back, the front line, joints, the crook's end, and bends."""
        low, high = self.ends
        places = [low, *(place for place, _ in self.record.bore.points_mm if low < place < high), high]
        upper = [self._place(place, -180.0) for place in places]
        lower = [self._place(place, 180.0) for place in places]
        self.plan.closed("outline", [*upper, *reversed(lower)])
        self.plan.line("marks", self._place(low, 0.0), self._place(high, 0.0))
        for name, place in self._across():
            top, bottom = self._place(place, -180.0), self._place(place, 180.0)
            self.plan.line("marks", top, bottom)
            down = f" along, {top[0]:.2f} down" if self.record.bore.bends else ""
            self.plan.text((top[0] + 0.8, top[1] - 3.4), f"{name}, {place:.2f}{down}", 2.0)
        for at, bend in enumerate(self.record.bore.bends):
            if self.tube in (at, at + 1):
                x, y = self._place(self.ends[at == self.tube], -180.0)
                left = x <= min(depth_at(self.record.bore.bends, end) for end in self.ends)
                self.plan.text((x, y + 1.5), f"bend {bend.id}, {x:.2f} down", 2.0, "start" if left else "end")

    def _across(self) -> Iterator[tuple[str, float]]:
        """What lies across the tube, and where along the centre line."""
        ends = [("crook's end", self.record.bore.crook_end_mm)]
        ends += [(f"joint {n}", each.to_mm) for n, each in enumerate(self.record.pieces, start=1) if each.joint]
        return ((name, place) for name, place in ends if self.ends[0] < place < self.ends[1])

    def _hole(self, hole: HoleRecord) -> None:
        centre = self._place(hole.position_mm, hole.azimuth_deg)
        self.plan.circle("holes", centre, hole.top_diameter_mm)
        self.plan.cross("centres", centre, 1.5)
        if hole.pad is not None:
            self.plan.circle("marks", centre, hole.pad.cup_diameter_mm)
        wide = hole.top_diameter_mm if hole.pad is None else hole.pad.cup_diameter_mm
        self._label((centre[0] + wide / 2.0 + 0.6, centre[1] - 0.9), hole.id, 2.2)

    def _axle(self, key: KeyRecord) -> None:
        axle = key.axle
        if axle is None:
            self._link(key)
            return
        if not self._has(axle.posts[0].position_mm):
            return
        places = sorted(self._place(post.position_mm, axle.azimuth_deg) for post in axle.posts)
        self.plan.line("outline", *places)
        for place in places:
            self.plan.circle("outline", place, axle.post_diameter_mm)
        x, y = places[0]
        self._label((x + 4.0, y + 0.8), f"{key.id}: axle {axle.height_mm:g} above the body")

    def _link(self, key: KeyRecord) -> None:
        """What a link turns about; it has no posts, and its touch is whatever moves it."""
        axis = link_axis(self.record, key)
        if axis is not None and self._has(axis.from_mm):
            ends = sorted(self._place(place, axis.azimuth_deg) for place in (axis.from_mm, axis.to_mm))
            self.plan.line("marks", *ends)
            self._label((ends[0][0] + 4.0, ends[0][1] + 0.8), f"{key.id} turns about this")

    def _touch(self, key: KeyRecord) -> None:
        if key.touch_position_mm is None or key.moved_by or not self._has(key.touch_position_mm):
            return
        x, y = self._place(key.touch_position_mm, key.touch_azimuth_deg or 0.0)
        half = TOUCH_MM / 2.0
        self.plan.closed("holes", [(x - half, y), (x, y - half), (x + half, y), (x, y + half)])
        self.plan.cross("centres", (x, y), 1.0)
        self._label((x + half + 0.6, y - 0.9), f"touch of {key.id}, {key.touch}{self._elsewhere(key)}")

    def _elsewhere(self, key: KeyRecord) -> str:
        """On which tube the rod of a key is, where its touch is on another."""
        rods = {lever.rod_tube + 1 for lever in crossings(self.held) if lever.key == key.id}
        return f"; rod on tube {rods.pop()}" if rods and self.tube + 1 not in rods else ""

    def _crossing(self, lever: Crossing) -> None:
        """Where the arm of a lever begins that leads to another tube, and where it ends at a pad."""
        if lever.rod_tube == self.tube:
            x, y = lever.end[2], self._place(lever.rod_mm, lever.rod_deg)[1]
            self.plan.closed("holes", [(x - 1.5, y - 2.5), (x + 1.5, y - 2.5), (x, y)])
            self._label((x + 2.4, y - 2.6), f"{lever.key}: arm to tube {lever.end_tube + 1}")
        elif lever.end_tube == self.tube and not lever.to_touch:
            x, y = self._place(lever.end_mm, lever.end_deg)
            self._label((x + TOUCH_MM, y - 4.2), f"{lever.key}: rod on tube {lever.rod_tube + 1}")
