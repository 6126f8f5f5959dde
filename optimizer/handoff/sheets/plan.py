"""A flat plan for paper and cutters, in millimetres: lines, circles and words on layers; x runs right, y up.

What is drawn once goes into every format: DXF for CAD and laser cutters (`dxf.py`), pages to print at 1:1 (`pdf.py`),
pictures of a page (`pictures.py`).
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal, NamedTuple, TypeAlias

Point: TypeAlias = tuple[float, float]
Anchor = Literal["start", "middle", "end"]
Layer = Literal["outline", "holes", "centres", "marks", "text"]
LAYERS: tuple[Layer, ...] = ("outline", "holes", "centres", "marks", "text")

TURN_POINTS = 72
"""Points of a curve that closes on itself: of a hole 20 mm wide, chords leave the curve by 0.01 mm."""

TEXT_MM = 2.6
LETTER = 0.64
"""How wide a letter is on the average, over the height of a capital."""


class Line(NamedTuple):
    """Straight lines from point to point; a closed one ends where it began."""

    layer: Layer
    points: tuple[Point, ...]
    closed: bool = False


class Round(NamedTuple):
    """A circle."""

    layer: Layer
    centre: Point
    diameter_mm: float


class Words(NamedTuple):
    """One line of words: where its baseline begins, has its middle, or ends."""

    at: Point
    words: str
    height_mm: float = TEXT_MM
    anchor: Anchor = "start"
    layer: Layer = "text"


Shape: TypeAlias = Line | Round | Words


class Extent(NamedTuple):
    """From where to where a plan goes [mm]."""

    left: float
    bottom: float
    right: float
    top: float


@dataclass
class Plan:
    """A flat drawing: name of its files, title, sentences to stand on each of its sheets, and what is drawn."""

    name: str
    title: str
    told: Sequence[str] = ()
    shapes: list[Shape] = field(default_factory=list)

    def line(self, layer: Layer, *points: Point) -> None:
        """Straight lines from point to point."""
        self.shapes.append(Line(layer, points))

    def closed(self, layer: Layer, points: Iterable[Point]) -> None:
        """A closed shape by its corners."""
        self.shapes.append(Line(layer, tuple(points), closed=True))

    def circle(self, layer: Layer, centre: Point, diameter_mm: float) -> None:
        """A circle by its diameter."""
        self.shapes.append(Round(layer, centre, diameter_mm))

    def cross(self, layer: Layer, centre: Point, half_mm: float = 2.0) -> None:
        """An upright cross through a point."""
        x, y = centre
        self.line(layer, (x - half_mm, y), (x + half_mm, y))
        self.line(layer, (x, y - half_mm), (x, y + half_mm))

    def text(self, at: Point, words: str, height_mm: float = TEXT_MM, anchor: Anchor = "start") -> None:
        """One line of words."""
        self.shapes.append(Words(at, words, height_mm, anchor))

    def label(self, at: Point, words: str, height_mm: float = TEXT_MM) -> None:
        """A line of words that begins at a point, or as far below it as words and crosses that are there ask for."""
        x, y = at
        taken = [_box(shape) for shape in self.shapes if isinstance(shape, Words)]
        taken += [_around(shape) for shape in self.shapes if shape.layer == "centres" and isinstance(shape, Line)]
        while any(_meet(_box(Words((x, y), words, height_mm)), box) for box in taken):
            y -= 0.4 * height_mm
        self.text((x, y), words, height_mm)

    @property
    def extent(self) -> Extent:
        """What all of it takes."""
        corners = [corner for shape in self.shapes for corner in corners_of(shape)]
        xs, ys = zip(*corners, strict=True)
        return Extent(min(xs), min(ys), max(xs), max(ys))


def corners_of(shape: Shape) -> Iterator[Point]:
    """Points between which a shape lies [mm]; words by a letter's usual width."""
    if isinstance(shape, Line):
        yield from shape.points
    elif isinstance(shape, Round):
        (x, y), half = shape.centre, shape.diameter_mm / 2.0
        yield from ((x - half, y - half), (x + half, y + half))
    else:
        box = _box(shape)
        yield from (box[:2], box[2:])


def _box(words: Words) -> Extent:
    """What words take [mm]."""
    (x, y), wide = words.at, LETTER * words.height_mm * len(words.words)
    left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[words.anchor] * wide
    return Extent(left, y - 0.25 * words.height_mm, left + wide, y + words.height_mm)


def _around(line: Line) -> Extent:
    """Between which places a line lies [mm]."""
    xs, ys = zip(*line.points, strict=True)
    return Extent(min(xs), min(ys), max(xs), max(ys))


def _meet(one: Extent, other: Extent) -> bool:
    across = one.left < other.right and other.left < one.right
    return across and one.bottom < other.top and other.bottom < one.top


def turn_angles() -> list[float]:
    """Angles of a whole turn [rad], `TURN_POINTS` of them."""
    return [2.0 * math.pi * step / TURN_POINTS for step in range(TURN_POINTS)]
