"""Drawings as SVG text, in millimetres: a sheet that collects lines, circles and words."""

from html import escape
from itertools import pairwise
from textwrap import wrap

INK = "#22313a"
FONT = "Helvetica, Arial, 'DejaVu Sans', sans-serif"

Point = tuple[float, float]


class Sheet:
    """A drawing of width x height mm, true to scale when printed at 100 %; y grows downward."""

    def __init__(self, width_mm: float, height_mm: float, title: str) -> None:
        self.width_mm, self.height_mm, self.title = width_mm, height_mm, title
        self._parts: list[str] = []

    def line(self, start: Point, end: Point, stroke: str = INK, width: float = 0.3, **more: str | float) -> None:
        """A straight line between two points [mm]."""
        (x1, y1), (x2, y2) = start, end
        self._add("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=stroke, stroke_width=width, **more)

    def polygon(self, points: list[Point], fill: str, stroke: str = INK, width: float = 0.3) -> None:
        """A closed shape."""
        places = " ".join(f"{number(x)},{number(y)}" for x, y in points)
        self._add("polygon", points=places, fill=fill, stroke=stroke, stroke_width=width)

    def circle(
        self, centre: Point, diameter: float, fill: str = "none", stroke: str = INK, **more: str | float
    ) -> None:
        """A circle by its diameter [mm]."""
        values = {"stroke_width": 0.3, **more}
        self._add("circle", cx=centre[0], cy=centre[1], r=diameter / 2.0, fill=fill, stroke=stroke, **values)

    def text(self, place: Point, words: str, size: float = 4.0, fill: str = INK, **more: str | float) -> None:
        """One line of words; `size` is the height of the letters' body [mm]."""
        values = {"x": place[0], "y": place[1], "font_size": size, "fill": fill, **more}
        self._parts.append(f"<text{attributes(values)}>{escape(words)}</text>")

    def paragraph(self, place: Point, words: str, width_mm: float, size: float = 4.0, fill: str = INK) -> float:
        """Words in as many lines as the width asks for; y below the last one [mm]."""
        x, y = place
        for row in wrap(words, max(12, int(width_mm / (0.57 * size)))):
            self.text((x, y), row, size, fill)
            y += 1.35 * size
        return y

    def dimension(self, start: Point, end: Point, stroke: str, **more: str | float) -> None:
        """A line between two points with a tick across each end."""
        self.line(start, end, stroke, 0.45, **more)
        for x, y in (start, end):
            self.line((x, y - 1.5), (x, y + 1.5), stroke, 0.45)

    def ruler(self, start: Point, length_mm: int, name: str) -> None:
        """A horizontal ruler with a tick each mm, numbers each 10; `name` is the id of its base line."""
        x, y = start
        self.line(start, (x + length_mm, y), width=0.3, id=name)
        for mm in range(length_mm + 1):
            self.line((x + mm, y), (x + mm, y - (4.0 if mm % 10 == 0 else 3.0 if mm % 5 == 0 else 2.0)), width=0.15)
            if mm % 10 == 0:
                self.text((x + mm, y + 3.6), str(mm), 2.8, text_anchor="middle")

    def path(self, points: list[Point], stroke: str, width: float) -> None:
        """Straight lines from point to point."""
        for start, end in pairwise(points):
            self.line(start, end, stroke, width)

    def to_svg(self) -> str:
        """The whole drawing."""
        width, height = number(self.width_mm), number(self.height_mm)
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
            f'viewBox="0 0 {width} {height}" font-family="{FONT}">'
        )
        ground = f'<rect width="{width}" height="{height}" fill="#ffffff"/>'
        return "\n".join((head, f"<title>{escape(self.title)}</title>", ground, *self._parts, "</svg>", ""))

    def _add(self, tag: str, **values: str | float) -> None:
        self._parts.append(f"<{tag}{attributes(values)}/>")


def number(value: float) -> str:
    """A number as short as three decimals allow."""
    return f"{value:.3f}".rstrip("0").rstrip(".")


def attributes(values: dict[str, str | float]) -> str:
    """Attributes of a tag, escaped, each after a space; underscores in names become hyphens."""
    shown = {key: value if isinstance(value, str) else number(value) for key, value in values.items()}
    return "".join(f' {key.replace("_", "-")}="{escape(value)}"' for key, value in shown.items())
