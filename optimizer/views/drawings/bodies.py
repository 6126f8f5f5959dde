"""An extension drawn: the present body and each way's below it, to one scale from the reed; what stays, what is new.

Marks differ in shape, not by colour alone: a ring for a hole as it was, a ring around a ring for one opened up, a
ring with a dot for one made anew, a full disk for one that was not there. A thin bar lies under a piece that stays, a
thick one under a piece to print.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from optimizer.records.extension import TITLES, ExtensionRecord
from optimizer.records.layout import HoleRecord, LayoutRecord
from optimizer.views.drawings.body import LANE, SIZE, Frame, Label, in_lanes, place_mm, radius_mm
from optimizer.views.drawings.canvas import Canvas

CUT = ("position_mm", "azimuth_deg", "tilt_deg", "diameter_mm", "top_diameter_mm", "chimney_mm")
"""What must be bit-identical for a hole to be as it was."""

BOLD = 0.67
"""Breadth of a bold letter as a share of its height; a long title is set smaller."""

State = Literal["as it was", "opened up", "made anew", "new"]


@dataclass(frozen=True)
class Body:
    """A body to draw: words above it, which of its pieces are to print, and the state of its holes by id; a body
    without states is the present one, whose pieces and holes are simply there."""

    title: str
    record: LayoutRecord
    printed: frozenset[int] = frozenset()
    states: Mapping[str, State] = field(default_factory=dict)
    tips: Mapping[str, str] = field(default_factory=dict)


def bodies(record: ExtensionRecord, present: LayoutRecord, ways: Mapping[str, LayoutRecord]) -> list[Body]:
    """The present body and one for each way; ways by their names."""
    now = f"as it is: {present.instrument}, {record.before_rms_cents:.2f} cents RMS on the notes of both"
    found = [Body(now, present)]
    for way in record.ways:
        drilled = {hole.hole: hole for hole in way.redrill}
        tips = {name: f"from {hole.from_mm:.2f} to {hole.to_mm:.2f} mm" for name, hole in drilled.items()}
        states = hole_states(present, ways[way.way], tuple(drilled))
        words = f"{TITLES[way.way]}: {way.common_rms_cents:.2f} cents RMS, "
        words += f"{len(way.print_pieces)} of {way.pieces} pieces to print"
        words += f", {len(drilled)} to drill" if drilled else ""
        words += "" if way.feasible else "; NOT feasible"
        found.append(Body(words, ways[way.way], frozenset(way.print_pieces), states, tips))
    return found


def hole_states(present: LayoutRecord, extended: LayoutRecord, drilled: Sequence[str]) -> dict[str, State]:
    """What became of each hole of the extended layout; drilled: ids of those opened up."""
    before = {hole.id: hole for hole in present.holes}
    return {hole.id: _state(hole, before.get(hole.id), hole.id in drilled) for hole in extended.holes}


def _state(hole: HoleRecord, was: HoleRecord | None, drilled: bool) -> State:
    if was is None:
        return "new"
    if drilled:
        return "opened up"
    return "as it was" if all(getattr(hole, name) == getattr(was, name) for name in CUT) else "made anew"


def bodies_drawing(drawn: Sequence[Body]) -> Canvas:
    """All bodies one above the other, reed ends in line, with one ruler at the foot."""
    longest = max(drawn, key=lambda body: body.record.bore.points_mm[-1][0]).record
    span = longest.bore.points_mm[-1][0] * 1.03
    rows = [_Row(body, span) for body in drawn]
    height = sum(row.height for row in rows) + 2.4 * LANE * span
    said = "; ".join(body.title for body in drawn)
    drawing = Canvas(span, height, f"bodies to one scale, from the reed: {said}", "body")
    top = 0.0
    for row in rows:
        row.draw(drawing, top)
        top += row.height
    Frame(drawing, longest, 0.015 * span, 0.0, span).ruler(top + 0.4 * LANE * span, longest.bore.points_mm[-1][0])
    return drawing


class _Row:
    """One body with its title above, the labels of its holes, and its pieces below."""

    def __init__(self, body: Body, span: float) -> None:
        self.body, self.span, self.lane = body, span, LANE * span
        record = body.record
        self.radius = max(radius_mm(record, s) for s, _ in record.bore.points_mm)
        self.radius = max([self.radius, *(p.joint.socket_outer_diameter_mm / 2 for p in record.pieces if p.joint)])
        self.labels = in_lanes([self._label(hole) for hole in record.holes if self._named(hole)], span)
        self.pieces = in_lanes([self._piece(number) for number in range(1, len(record.pieces) + 1)], span)
        self.middle = self.lane * (len(self.labels) + 2.2) + self.radius
        self.height = self.middle + self.radius + self.lane * (len(self.pieces) + 1.4)

    def _named(self, hole: HoleRecord) -> bool:
        """Holes as they were are named on the present body alone."""
        return self.body.states.get(hole.id) != "as it was"

    def _label(self, hole: HoleRecord) -> Label:
        more = {"new": " new", "opened up": " opened up"}.get(self.body.states.get(hole.id, ""), "")
        return hole.position_mm, place_mm(hole), hole.id + more

    def _piece(self, number: int) -> Label:
        piece = self.body.record.pieces[number - 1]
        said = (": print" if number in self.body.printed else ": stays") if self.body.states else ""
        return (piece.from_mm + piece.to_mm) / 2.0, self.radius, f"piece {number}{said}"

    def draw(self, drawing: Canvas, top: float) -> None:
        """The row, from a height of the drawing down."""
        frame = Frame(drawing, self.body.record, 0.015 * self.span, top + self.middle, self.span)
        size = min(SIZE, 1.0 / (BOLD * max(len(self.body.title), 1)))
        drawing.text("bold", (0.0, top + 1.3 * self.lane), self.body.title, **{"font-size": size * self.span})
        frame.tube()
        frame.zones()
        frame.labels(self.labels, frame.middle - self.radius - 0.5 * self.lane, -self.lane, "", "lead")
        for hole in self.body.record.holes:
            self._hole(frame, hole)
        self._bars(frame)
        first = frame.middle + self.radius + 1.7 * self.lane
        for number, lane in enumerate(self.pieces):
            for position, _, words in lane:
                kind = "bold" if words.endswith("print") else "soft"
                frame.words(kind, position + frame.shift, first + number * self.lane, words)

    def _hole(self, frame: Frame, hole: HoleRecord) -> None:
        state = self.body.states.get(hole.id)
        tip = self.body.tips.get(hole.id, state or "")
        frame.hole(hole, f"{state}, {tip}" if state and tip != state else tip, cup=False)
        across, along = frame.seen(hole)
        centre = frame.at(hole.position_mm, place_mm(hole))
        if state == "opened up":
            more = 0.008 * self.span
            frame.drawing.oval("ring", centre, across + more, along + more)
        elif state == "made anew":
            frame.drawing.oval("closed", centre, 0.4 * across, 0.4 * along)
        elif state == "new":
            frame.drawing.oval("closed", centre, across, along)

    def _bars(self, frame: Frame) -> None:
        """A bar under each piece."""
        y, gap = frame.middle + self.radius + 0.5 * self.lane, 0.003 * self.span
        for number, piece in enumerate(self.body.record.pieces, start=1):
            start, end = piece.from_mm + gap, piece.to_mm - gap
            if number in self.body.printed:
                thick = 0.35 * self.lane
                frame.drawing.box("print", frame.at(start, y - frame.middle - thick / 2), end - start, thick)
            else:
                frame.drawing.line("axis", frame.at(start, y - frame.middle), frame.at(end, y - frame.middle))
