"""A body to scale, seen from its front, reed end left: bore, holes, fingers, touches of keys, axles and joints.

Crook and body are drawn along one straight line, a folded body along its centre line with its bends shaded. What lies
behind is dashed. Azimuth grows downward.
"""

import math
from collections.abc import Sequence

from optimizer.geometry.space import Places, points
from optimizer.records.keys import KeyRecord
from optimizer.records.layout import HoleRecord, LayoutRecord, Seat
from optimizer.records.mass import bore_diameter_mm
from optimizer.views.drawings.axes import multiples
from optimizer.views.drawings.canvas import Canvas

SIZE, LANE, CHARACTER = 0.0150, 0.0185, 0.0090
"""Height of letters, of a lane of labels and breadth of a letter, as shares of the drawing's width."""

Label = tuple[float, float, str]
"""Where a label wants to stand along the body, the height of what it names, and its words."""


def body_drawing(record: LayoutRecord, span_mm: float | None = None, detail: bool = True) -> Canvas:
    """The drawing.

    Parameters
    ----------
    record : the layout
    span_mm : length that the whole width stands for, so that several are to one scale; None: the body's own [mm]
    detail : whether keys are drawn
    """
    end = record.bore.points_mm[-1][0]
    span = max(span_mm or end, end) * 1.03
    shift = 0.015 * span
    radius = max(radius_mm(record, s) for s, _ in record.bore.points_mm)
    wide = max([radius, *(abs(_height(record, key)) for key in record.keys if detail and key.axle)])
    turns = [(bend.at_mm + 0.5 * bend.length_mm, 0.0, f"bend {bend.id}") for bend in record.bore.bends]
    above = in_lanes([*((hole.position_mm, place_mm(hole), hole.id) for hole in record.holes), *turns], span)
    below = in_lanes(_fingers(record), span)
    touches = in_lanes(_touch_labels(record) + _fittings(record), span) if detail else []
    pieces = in_lanes(_piece_labels(record, span, shift), span)
    lane = LANE * span
    middle = lane * (len(above) + len(pieces) + 0.6) + wide
    foot = middle + wide + lane * (len(below) + len(touches) + 0.8)
    label = f"{record.instrument}, layout {record.id}: body to scale, {end:.0f} mm long, {len(record.holes)} holes"
    drawing = Canvas(span, foot + 1.4 * lane, label, "body")
    frame = Frame(drawing, record, shift, middle, span)
    frame.tube()
    frame.bends()
    frame.pieces(pieces)
    if detail:
        frame.rods()
    frame.fittings()
    frame.labels(above, middle - wide - 0.5 * lane, -lane, "", "lead")
    for hole in record.holes:
        frame.hole(hole)
    if detail:
        frame.touches()
    frame.labels(below, middle + wide + lane, lane, "finger", "finger-lead")
    frame.labels(touches, middle + wide + lane * (1 + len(below)), lane, "keyed", "key-lead")
    frame.ruler(foot + 0.2 * lane, end)
    return drawing


def radius_mm(record: LayoutRecord, position_mm: float) -> float:
    """Outer radius of the body at a place [mm]."""
    return bore_diameter_mm(record.bore, position_mm) / 2.0 + record.bore.wall_mm


def place_mm(hole: HoleRecord) -> float:
    """Height of a hole against the middle line [mm], downward."""
    return seen_mm(hole.position_mm, hole.azimuth_deg, hole.body_diameter_mm / 2.0)


def seen_mm(position_mm: float, azimuth_deg: float, height_mm: float) -> float:
    """Height against the middle line at which a place so high above the axis is seen from the front [mm], downward."""
    return float(points(Places(position_mm, math.radians(azimuth_deg), height_mm)).z)


def _height(record: LayoutRecord, key: KeyRecord) -> float:
    """Height of a key's axle against the middle line [mm], downward."""
    if key.axle is None:
        return 0.0
    places = [post.position_mm for post in key.axle.posts] or [key.touch_position_mm or 0.0]
    radius = max(radius_mm(record, s) for s in places) + key.axle.height_mm
    return seen_mm(places[0], key.axle.azimuth_deg, radius)


def _fingers(record: LayoutRecord) -> list[Label]:
    return [
        (hole.position_mm if hole.touch_position_mm is None else hole.touch_position_mm, place_mm(hole), hole.by)
        for hole in record.holes
        if hole.by != "key"
    ]


def _fittings(record: LayoutRecord) -> list[Label]:
    return [
        (
            each.position_mm,
            seen_mm(each.position_mm, each.azimuth_deg, radius_mm(record, each.position_mm)),
            each.id.replace("_", " "),
        )
        for each in record.fittings
    ]


def _touched(record: LayoutRecord) -> list[tuple[float, float, KeyRecord]]:
    """Keys with a touch of their own: where it lies along the body and its azimuth."""
    return [
        (key.touch_position_mm, key.touch_azimuth_deg or 0.0, key)
        for key in record.keys
        if key.touch_position_mm is not None and not key.moved_by
    ]


def _touch_labels(record: LayoutRecord) -> list[Label]:
    """Keys that one finger reaches for at one place share a label."""
    groups: dict[tuple[str, int], list[tuple[float, float, KeyRecord]]] = {}
    for position, azimuth, key in _touched(record):
        groups.setdefault((key.touch, round(position)), []).append((position, azimuth, key))
    return [
        (
            found[0][0],
            max(seen_mm(s, turn, radius_mm(record, s)) for s, turn, _ in found),
            f"{finger}: {' '.join(key.id for _, _, key in found)}",
        )
        for (finger, _), found in groups.items()
    ]


def _piece_labels(record: LayoutRecord, span: float, shift: float) -> list[Label]:
    """Number and length of each piece over its middle, as far as the drawing's edges let them."""
    labels = []
    for number, piece in enumerate(record.pieces, start=1):
        words = f"piece {number}: {piece.length_mm:.0f} mm"
        half = len(words) * CHARACTER * span / 2.0
        middle = (piece.from_mm + piece.to_mm) / 2.0
        labels.append((min(max(middle, half - shift), span - shift - half), 0.0, words))
    return labels


def in_lanes(labels: Sequence[Label], span: float) -> list[list[Label]]:
    """Labels in as few lanes as keep them apart, each above or below what it names."""
    lanes: list[list[Label]] = []
    ends: list[float] = []
    for label in sorted(labels):
        half = (len(label[2]) + 1) * CHARACTER * span / 2.0
        for number, end in enumerate(ends):
            if label[0] - half >= end:
                lanes[number].append(label)
                ends[number] = label[0] + half
                break
        else:
            lanes.append([label])
            ends.append(label[0] + half)
    return lanes


def seat_words(seat: Seat) -> str:
    """What a hole's flat is like, to follow other words; older files do not tell its height."""
    if seat.top_mm is None:
        return f", seat {seat.outer_diameter_mm:.2f}"
    way = "sunk" if seat.top_mm < 0.0 else "raised"
    return f", seat {seat.outer_diameter_mm:.2f}, {way} by {abs(seat.top_mm):.2f}"


class Frame:
    """From the body's millimetres to the drawing's."""

    def __init__(self, drawing: Canvas, record: LayoutRecord, shift: float, middle: float, span: float) -> None:
        self.drawing, self.record, self.shift, self.middle, self.span = drawing, record, shift, middle, span

    def at(self, position_mm: float, height_mm: float) -> tuple[float, float]:
        """A point of the drawing, by position along the body and height above its middle line, downward [mm]."""
        return position_mm + self.shift, self.middle + height_mm

    def words(self, kind: str, x: float, y: float, words: str) -> None:
        """Words whose middle is at x, kept within the drawing."""
        half = len(words) * CHARACTER * self.span / 2.0
        x = min(max(x, half), self.span - half)
        self.drawing.text(f"mid {kind}".strip(), (x, y), words, **{"font-size": SIZE * self.span})

    def tube(self) -> None:
        """Outline and bore, the crook apart from the printed body."""
        record = self.record
        end, cut = record.bore.points_mm[-1][0], record.bore.crook_end_mm
        for start, stop, kind in ((0.0, min(cut, end), "crook"), (min(cut, end), end, "outside")):
            if stop <= start:
                continue
            places = [start, *(s for s, _ in record.bore.points_mm if start < s < stop), stop]
            for name, wall in ((kind, record.bore.wall_mm), ("inside", 0.0)):
                radii = [bore_diameter_mm(record.bore, s) / 2.0 + wall for s in places]
                upper = [self.at(s, -r) for s, r in zip(places, radii, strict=True)]
                lower = [self.at(s, r) for s, r in zip(places, radii, strict=True)]
                self.drawing.polygon(name, [*upper, *reversed(lower)])

    def bends(self) -> None:
        """Where a folded body turns back, along its centre line."""
        for bend in self.record.bore.bends:
            radius = max(radius_mm(self.record, place) for place in (bend.at_mm, bend.end_mm))
            self.drawing.box("bend", self.at(bend.at_mm, -radius), bend.length_mm, 2.0 * radius)

    def pieces(self, lanes: Sequence[Sequence[Label]]) -> None:
        """Joints, and the length of each piece above the body."""
        for number, lane in enumerate(lanes):
            for position, _, words in lane:
                self.words("jointed", position + self.shift, (0.9 + number) * LANE * self.span, words)
        self.zones()

    def zones(self) -> None:
        """Joints with the room that tenon and socket take."""
        for piece in self.record.pieces:
            if piece.joint is None:
                continue
            at, half = piece.joint.at_mm, piece.joint.length_mm / 2.0
            radius = piece.joint.socket_outer_diameter_mm / 2.0
            self.drawing.box("zone", self.at(at - half, -radius), 2 * half, 2 * radius)
            self.drawing.line("joint", self.at(at, -radius), self.at(at, radius))

    def rods(self) -> None:
        """Axles from their first post to their last."""
        for key in self.record.keys:
            if key.axle is None or len(key.axle.posts) < 2:
                continue
            places = [post.position_mm for post in key.axle.posts]
            height = _height(self.record, key)
            self.drawing.line("rod", self.at(min(places), height), self.at(max(places), height))

    def fittings(self) -> None:
        """Zones kept clear for what is fastened to the body."""
        for each in self.record.fittings:
            radius, low = radius_mm(self.record, each.position_mm), each.position_mm - 0.5 * each.length_mm
            half = math.degrees(0.5 * each.width_mm / radius)
            edges = [seen_mm(low, each.azimuth_deg + turn, radius) for turn in (-half, half)]
            top, high = min(edges), max(abs(edges[1] - edges[0]), 2.0)
            kind = "fitting far" if math.cos(math.radians(each.azimuth_deg)) < -1e-9 else "fitting"
            corners = [(low, top), (low + each.length_mm, top), (low + each.length_mm, top + high), (low, top + high)]
            tip = f"{each.id}: {each.position_mm:.2f} mm, {each.azimuth_deg:.0f} degrees, kept clear"
            self.drawing.polygon(kind, [self.at(*corner) for corner in corners], tip)

    def seen(self, hole: HoleRecord) -> tuple[float, float]:
        """A hole's breadth along the body and around it, as it is seen [mm]."""
        size = hole.top_diameter_mm
        return size, max(size * abs(math.cos(math.radians(hole.azimuth_deg))), 1.5)

    def hole(self, hole: HoleRecord, more: str = "", cup: bool = True) -> None:
        """A hole as it is seen, with its cup; more is told of it where it is pointed at."""
        turn = math.cos(math.radians(hole.azimuth_deg))
        far, centre = " far" if turn < -1e-9 else "", self.at(hole.position_mm, place_mm(hole))
        tip = f"{hole.id}: {hole.position_mm:.2f} mm, diameter {hole.diameter_mm:.2f}, {hole.azimuth_deg:.0f} degrees"
        if cup and hole.seat is not None:
            wide = hole.seat.outer_diameter_mm
            self.drawing.oval(f"seat{far}", centre, wide, max(wide * abs(turn), 2.0))
            tip += seat_words(hole.seat)
        if cup and hole.pad is not None:
            across = hole.pad.cup_diameter_mm
            self.drawing.oval(f"cup{far}", centre, across, max(across * abs(turn), 2.0))
        self.drawing.oval(f"hole{far}", centre, *self.seen(hole), f"{tip}; {more}" if more else tip)

    def touches(self) -> None:
        """Where the keys are pressed."""
        for position, azimuth, key in _touched(self.record):
            turn = math.cos(math.radians(azimuth))
            centre = self.at(position, seen_mm(position, azimuth, radius_mm(self.record, position)))
            size = 0.008 * self.span
            kind = "touch far" if turn < -1e-9 else "touch"
            self.drawing.oval(
                kind, centre, size, max(size * abs(turn), 0.4 * size), f"{key.id}: touched by {key.touch}"
            )

    def labels(self, lanes: Sequence[Sequence[Label]], first_y: float, step: float, kind: str, lead: str) -> None:
        """Lanes of labels, each tied to what it names."""
        near = 0.012 * self.span
        for number, lane in enumerate(lanes):
            for position, height, _ in lane:
                y = first_y + number * step
                end = y - near if step > 0 else y + 0.004 * self.span
                self.drawing.line(lead, self.at(position, height), (position + self.shift, end))
        for number, lane in enumerate(lanes):
            for position, _, words in lane:
                y = first_y + number * step
                self.words(kind, position + self.shift, y, words)

    def ruler(self, y: float, end: float) -> None:
        """Millimetres from the reed end, a number each 100, or each 200 where those would run together."""
        breadth = (len(f"{end:.0f}") + 1) * CHARACTER * self.span
        told = 100 if breadth <= 100.0 else 200
        self.drawing.line("axis", (self.shift, y), (self.shift + end, y))
        for mm in multiples(20.0, 0.0, end):
            tick = 0.006 if mm % told == 0 else 0.003
            self.drawing.line("axis", (self.shift + mm, y), (self.shift + mm, y + tick * self.span))
            if mm % told == 0:
                self.words("soft", self.shift + mm, y + 0.02 * self.span, f"{mm:g}")
