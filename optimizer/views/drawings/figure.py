"""Drawings that stand within a page: shapes by class, so that the page's style decides their colours and darkness."""

from collections.abc import Sequence
from html import escape

from optimizer.views.drawings.canvas import Point, attributes, number

Value = str | float


class Figure:
    """An inline drawing of width x height units; y grows downward.

    label : what is read aloud in its place
    own_size : whether a unit is a pixel of the page; otherwise the page's style decides how wide it is
    """

    def __init__(self, width: float, height: float, label: str, kind: str = "", own_size: bool = False) -> None:
        self.own_size = own_size
        self.width, self.height, self.label, self.kind = width, height, label, kind
        self._parts: list[str] = []

    def line(self, kind: str, start: Point, end: Point, **more: Value) -> None:
        """A straight line."""
        (x1, y1), (x2, y2) = start, end
        self.add("line", kind, "", x1=x1, y1=y1, x2=x2, y2=y2, **more)

    def box(self, kind: str, corner: Point, width: float, height: float, **more: Value) -> None:
        """A rectangle by its upper left corner."""
        self.add("rect", kind, "", x=corner[0], y=corner[1], width=width, height=height, **more)

    def oval(self, kind: str, centre: Point, across: float, along: float, tip: str = "") -> None:
        """An ellipse by its two diameters; tip is shown when it is pointed at."""
        self.add("ellipse", kind, tip, cx=centre[0], cy=centre[1], rx=across / 2.0, ry=along / 2.0)

    def shape(self, kind: str, points: list[Point], closed: bool = True) -> None:
        """A polygon, or an open line from point to point."""
        places = " ".join(f"{number(x)},{number(y)}" for x, y in points)
        self.add("polygon" if closed else "polyline", kind, points=places)

    def path(self, kind: str, steps: str) -> None:
        """A path in SVG's own steps."""
        self.add("path", kind, d=steps)

    def text(self, kind: str, place: Point, words: str, **more: Value) -> None:
        """One line of words."""
        values: dict[str, Value] = {"class": kind, "x": place[0], "y": place[1], **more}
        self._parts.append(f"<text{attributes(values)}>{escape(words)}</text>")

    def add(self, tag: str, kind: str, tip: str = "", **values: Value) -> None:
        """Any shape by its tag."""
        inside = f"<title>{escape(tip)}</title>" if tip else ""
        self._parts.append(f"<{tag}{attributes({'class': kind, **values})}>{inside}</{tag}>")

    def open_link(self, target: str, name: str) -> None:
        """What follows is a link within the page until `close_link`; left out of the tab order, as tables list it."""
        self._parts.append(f'<a href="#{escape(target)}" tabindex="-1" data-layout="{escape(target)}">')
        self._parts.append(f"<title>{escape(name)}</title>")

    def close_link(self) -> None:
        """End of a link."""
        self._parts.append("</a>")

    def placed(self, top: float, width: float) -> tuple[str, float]:
        """The drawing as part of another one, so wide and from `top` down; and how high it is then."""
        height = self.height * width / self.width
        frame: dict[str, Value] = {"class": f"drawing {self.kind}".strip(), "viewBox": self._view(), "y": top}
        frame |= {"width": width, "height": height}
        return f"<svg{attributes(frame)}>{''.join(self._parts)}</svg>", height

    def _view(self) -> str:
        return f"0 0 {number(self.width)} {number(self.height)}"

    def to_html(self) -> str:
        """The drawing as an element of a page."""
        head = {
            "class": f"drawing {self.kind}".strip(),
            "viewBox": self._view(),
            "role": "img",
            "aria-label": self.label,
        }
        if self.own_size:
            head |= {"width": number(self.width), "height": number(self.height)}
        return f"<svg{attributes(dict(head))}>{''.join(self._parts)}</svg>"


def picture(title: str, figures: Sequence[Figure], style: str, width: float = 1000.0, edge: float = 16.0) -> str:
    """A file of its own, SVG: drawings one below the other under a style, which gives the ground its colour."""
    parts, top = list[str](), edge
    for each in figures:
        part, height = each.placed(top, width)
        parts.append(part)
        top += height + edge
    view = f"{number(-edge)} 0 {number(width + 2 * edge)} {number(top)}"
    size = f'width="{number(width + 2 * edge)}" height="{number(top)}"'
    ground = f'<rect class="ground" x="{number(-edge)}" width="100%" height="100%"/>'
    head = f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="{view}" role="img">'
    said = f"<title>{escape(title)}</title>\n<style>{style}.ground {{ fill: var(--ground); }}\n</style>"
    return "\n".join((head, said, ground, *parts, "</svg>", ""))
