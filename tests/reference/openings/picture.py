"""Draws `openings.svg` of results: kinds of openings in section, their lengths by formula and finite elements.

python picture.py ../../../results/openings.svg
"""

import json
import sys
from pathlib import Path

import numpy as np

from acoustics.openings import opening_lengths
from optimizer.views.drawings.axes import Scale
from optimizer.views.drawings.canvas import INK, Canvas, Looks

RESULTS = json.loads(Path(__file__).with_name("openings.json").read_text(encoding="utf-8"))
SOLID, LINE = "#d9d2c0", "#1c6e5f"
LOOKS: Looks = {
    "words": {"font_size": 3.2, "fill": INK, "text_anchor": "middle"},
    "beside": {"font_size": 3.0, "fill": INK},
    "figure": {"font_size": 2.8, "fill": INK, "text_anchor": "middle"},
    "solid": {"fill": SOLID, "stroke": INK, "stroke_width": 0.3},
    "pad": {"fill": "#8d979c", "stroke": INK, "stroke_width": 0.3},
    "axis": {"stroke": INK, "stroke_width": 0.2},
    "curve": {"fill": "none", "stroke": LINE, "stroke_width": 0.5},
    "dot": {"fill": "none", "stroke": "#a3142a", "stroke_width": 0.35},
}
BODY, BORE = 3.0, 2.0  # radii of body and bore, in hole radii
KINDS = (("saddle", 0.0, 0.0), ("raised flat", 0.4, 0.6), ("sunk flat", 0.6, -0.25))
UNIT = 5.2


def section(sheet: Canvas, x: float, name: str, rim: float, top: float) -> None:
    """Half of the wall across the body, cut through the hole's axis, on either side of it; with its pad."""
    crown = 48.0
    edge = 1.0 + rim
    for side in (-1.0, 1.0):
        outer, inner = (np.linspace(np.arcsin(1.0 / r), 1.15, 30) for r in (BODY, BORE))
        wall = [(BODY * np.sin(a), BODY * (np.cos(a) - 1.0)) for a in outer]
        if rim:
            wall = [(1.0, top), (edge, top), *[(u, v) for u, v in wall if u > edge and (top > 0.0 or v < top)]]
        wall += [(BORE * np.sin(a), BORE * np.cos(a) - BODY) for a in inner[::-1]]
        sheet.polygon("solid", [(x + side * UNIT * u, crown - UNIT * v) for u, v in wall])
    reach = edge if rim else 1.5
    sheet.box("pad", (x - UNIT * reach, crown - UNIT * (top + 0.8 + 0.3)), 2.0 * UNIT * reach, 0.3 * UNIT)
    sheet.text("words", (x, 87.0), name)


def lengths(sheet: Canvas, x: float, kind: str) -> None:
    """Outer length over the pad's gap: curves by formula at the sizes of some openings, and these as rings."""
    across, up = Scale(0.0, 2.5, x, x + 62.0), Scale(0.0, 2.0, 78.0, 14.0)
    sheet.line("axis", (x, 78.0), (x + 62.0, 78.0))
    sheet.line("axis", (x, 78.0), (x, 14.0))
    for tick in (0.5, 1.0, 1.5, 2.0, 2.5):
        sheet.text("figure", (across(tick), 82.0), f"{tick:g}")
    for tick in (0.5, 1.0, 1.5, 2.0):
        sheet.text("figure", (x - 4.0, up(tick) + 1.0), f"{tick:g}")
    sheet.text("words", (x + 31.0, 87.0), f"gap below the pad / hole radius: {kind}")
    sheet.text("beside", (x + 2.0, 12.0), "outer length / hole radius")
    shown = [
        case for name, case in RESULTS.items()
        if case["kind"] == kind and case["pad_gap"] and "/" not in name and "body_radius" in case
    ][:: 6 if kind == "saddle" else 14]  # fmt: skip
    for case in shown:
        sizes = (1.0, case["body_radius"], case.get("seat_width", 0.0), case.get("seat_top", 0.0), case["pad_radius"])
        gap = np.geomspace(max(0.2, 0.6 * case["pad_gap"]), min(2.5, 1.6 * case["pad_gap"]), 20)
        bare, extra = opening_lengths(*(np.full(20, size) for size in sizes), gap)
        steps = " L ".join(f"{across(g):.2f} {up(y):.2f}" for g, y in zip(gap, bare + extra, strict=True) if y < 2.0)
        sheet.path("curve", f"M {steps}")
        sheet.circle("dot", (across(case["pad_gap"]), up(case["length"])), 1.8)


def picture() -> str:
    """The whole drawing as SVG."""
    sheet = Canvas(240.0, 92.0, "Openings of tone holes in section; their lengths by formula and finite elements",
                   unit="mm", looks=LOOKS)  # fmt: skip
    for number, (name, rim, top) in enumerate(KINDS):
        section(sheet, 17.0 + 31.0 * number, name, rim, top)
    lengths(sheet, 108.0, "saddle")
    lengths(sheet, 176.0, "flat")
    return sheet.to_svg()


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(picture(), encoding="utf-8")
