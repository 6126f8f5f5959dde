"""Drawings in SVG, in a page or in a file of their own.

A shape is named by its kind. In a page the style decides how each kind looks, so that a drawing follows darkness and
print. A drawing for paper brings a table of looks along and writes them out, as programs that cut and print want them.
"""

from collections.abc import Mapping, Sequence
from html import escape
from textwrap import wrap

INK = "#22313a"
FONT = "Helvetica, Arial, 'DejaVu Sans', sans-serif"

Point = tuple[float, float]
Value = str | float
Looks = Mapping[str, Mapping[str, Value]]


class Canvas:
    """A drawing of width x height units; y grows downward.

    label : what is read aloud in its place
    kind : classes of the whole drawing in the page's style
    unit : what a unit is, `mm` or `px`; otherwise the page's style decides how wide it is
    looks : attributes by kind, for a drawing that no style is there for
    """

    def __init__(
        self, width: float, height: float, label: str, kind: str = "", unit: str = "", looks: Looks | None = None
    ) -> None:
        self.width, self.height, self.label, self.kind, self.unit = width, height, label, kind, unit
        self.looks = looks or {}
        self._parts: list[str] = []

    def line(self, kind: str, start: Point, end: Point, **more: Value) -> None:
        """A straight line."""
        (x1, y1), (x2, y2) = start, end
        self._add("line", kind, {"x1": x1, "y1": y1, "x2": x2, "y2": y2, **more})

    def box(self, kind: str, corner: Point, width: float, height: float) -> None:
        """A rectangle by its upper left corner."""
        self._add("rect", kind, {"x": corner[0], "y": corner[1], "width": width, "height": height})

    def circle(self, kind: str, centre: Point, diameter: float, **more: Value) -> None:
        """A circle by its diameter."""
        self._add("circle", kind, {"cx": centre[0], "cy": centre[1], "r": diameter / 2.0, **more})

    def oval(self, kind: str, centre: Point, across: float, along: float, tip: str = "") -> None:
        """An ellipse by its two diameters; tip is shown when it is pointed at."""
        self._add("ellipse", kind, {"cx": centre[0], "cy": centre[1], "rx": across / 2.0, "ry": along / 2.0}, tip)

    def polygon(self, kind: str, points: Sequence[Point], tip: str = "") -> None:
        """A closed shape by its corners."""
        self._add("polygon", kind, {"points": " ".join(f"{number(x)},{number(y)}" for x, y in points)}, tip)

    def path(self, kind: str, steps: str) -> None:
        """A path in SVG's own steps."""
        self._add("path", kind, {"d": steps})

    def text(self, kind: str, place: Point, words: str, **more: Value) -> None:
        """One line of words."""
        self._add("text", kind, {"x": place[0], "y": place[1], **more}, words=words)

    def paragraph(self, kind: str, place: Point, words: str, width: float) -> float:
        """Words in as many lines as the width asks for, by the size their look has; y below the last one."""
        size = float(self.looks[kind]["font_size"])
        x, y = place
        for row in wrap(words, max(12, int(width / (0.57 * size)))):
            self.text(kind, (x, y), row)
            y += 1.35 * size
        return y

    def dimension(self, kind: str, start: Point, end: Point, **more: Value) -> None:
        """A line between two points with a tick of 3 across each end."""
        self.line(kind, start, end, **more)
        for x, y in (start, end):
            self.line(kind, (x, y - 1.5), (x, y + 1.5))

    def _add(self, tag: str, kind: str, values: Mapping[str, Value], tip: str = "", words: str = "") -> None:
        look = self.looks[kind] if self.looks else {"class": kind}
        inside = f"<title>{escape(tip)}</title>" if tip else escape(words)
        self._parts.append(f"<{tag}{attributes({**look, **values})}>{inside}</{tag}>")

    def open_link(self, target: str, name: str) -> None:
        """What follows is a link within the page until `close_link`; left out of the tab order, as tables list it."""
        self._parts.append(f'<a href="#{escape(target)}" tabindex="-1" data-layout="{escape(target)}">')
        self._parts.append(f"<title>{escape(name)}</title>")

    def close_link(self) -> None:
        """End of a link."""
        self._parts.append("</a>")

    def to_html(self) -> str:
        """The drawing as an element of a page."""
        return self._element("".join(self._parts), {"role": "img", "aria-label": self.label, **self._size()})

    __html__ = to_html
    """By this name a template asks for HTML that is not to be escaped."""

    def to_svg(self) -> str:
        """The drawing as a file of its own, on white."""
        frame = {"xmlns": "http://www.w3.org/2000/svg", **self._size(), "viewBox": self._view(), "font_family": FONT}
        ground = attributes({"width": self.width, "height": self.height, "fill": "#ffffff"})
        title = f"<title>{escape(self.label)}</title>"
        return "\n".join((f"<svg{attributes(frame)}>", title, f"<rect{ground}/>", *self._parts, "</svg>", ""))

    def placed(self, top: float, width: float) -> tuple[str, float]:
        """The drawing as part of another one, so wide and from `top` down; and how high it is then."""
        height = self.height * width / self.width
        return self._element("".join(self._parts), {"y": top, "width": width, "height": height}), height

    def _element(self, inside: str, more: Mapping[str, Value]) -> str:
        frame = {"class": f"drawing {self.kind}".strip(), "viewBox": self._view(), **more}
        return f"<svg{attributes(frame)}>{inside}</svg>"

    def _view(self) -> str:
        return f"0 0 {number(self.width)} {number(self.height)}"

    def _size(self) -> dict[str, Value]:
        unit = self.unit.removesuffix("px")
        sizes = {"width": self.width, "height": self.height}
        return {name: f"{number(size)}{unit}" for name, size in sizes.items()} if self.unit else {}


def picture(title: str, drawings: Sequence[Canvas], style: str, width: float = 1000.0, edge: float = 16.0) -> str:
    """A file of its own, SVG: drawings one below the other under a style, which gives the ground its colour."""
    parts, top = list[str](), edge
    for each in drawings:
        part, height = each.placed(top, width)
        parts.append(part)
        top += height + edge
    view = f"{number(-edge)} 0 {number(width + 2 * edge)} {number(top)}"
    size = f'width="{number(width + 2 * edge)}" height="{number(top)}"'
    ground = f'<rect class="ground" x="{number(-edge)}" width="100%" height="100%"/>'
    head = f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="{view}" role="img">'
    said = f"<title>{escape(title)}</title>\n<style>{style}.ground {{ fill: var(--ground); }}\n</style>"
    return "\n".join((head, said, ground, *parts, "</svg>", ""))


def number(value: float) -> str:
    """A number as short as three decimals allow."""
    return f"{value:.3f}".rstrip("0").rstrip(".")


def attributes(values: Mapping[str, Value]) -> str:
    """Attributes of a tag, escaped, each after a space; underscores in names become hyphens."""
    shown = {key: value if isinstance(value, str) else number(value) for key, value in values.items()}
    return "".join(f' {key.replace("_", "-")}="{escape(value)}"' for key, value in shown.items())
