"""A measured impedance as a drawing: the phase of its reflectance over frequency, beside the computed one.

Resonances lie where a phase falls through zero.
"""

import math

from optimizer.records.impedance import ImpedanceRecord
from optimizer.views.drawings.axes import Scale
from optimizer.views.drawings.canvas import INK, Canvas, Looks, number

WIDTH_MM, HEIGHT_MM, LEFT, RIGHT, TOP, FOOT = 260.0, 130.0, 22.0, 8.0, 26.0, 16.0
BLUE, RED = "#2f6690", "#b4543f"
LOOKS: Looks = {
    "title": {"font_size": 5.0, "fill": INK, "font_weight": "bold"},
    "said": {"font_size": 3.4, "fill": INK},
    "figure": {"font_size": 3.0, "fill": INK, "text_anchor": "middle"},
    "side": {"font_size": 3.0, "fill": INK, "text_anchor": "end"},
    "rule": {"stroke": "#dde3e1", "stroke_width": 0.25},
    "axis": {"stroke": INK, "stroke_width": 0.3},
    "computed": {"stroke": BLUE, "stroke_width": 0.5, "fill": "none"},
    "measured": {"stroke": RED, "stroke_width": 0.35, "fill": "none"},
    "found": {"fill": RED, "stroke": "none"},
}
TURN_DEG = 180.0
"""A phase that jumps by more has gone round."""


def impedance_svg(record: ImpedanceRecord) -> str:
    """The drawing as SVG text."""
    title = f"{record.instrument}, layout {record.layout}, {record.note}"
    sheet = Canvas(WIDTH_MM, HEIGHT_MM, f"{title}: phase of the reflectance", unit="mm", looks=LOOKS)
    sheet.text("title", (LEFT, 9), title)
    said = "phase of the reflectance, degrees, over frequency, Hz; measured red, computed without reed and player blue"
    sheet.text("said", (LEFT, 15), said)
    f = record.frequency_hz
    x = Scale(math.log2(f[0]), math.log2(f[-1]), LEFT, WIDTH_MM - RIGHT)
    y = Scale(-180.0, 180.0, HEIGHT_MM - FOOT, TOP)
    for degrees in (-180, -90, 0, 90, 180):
        sheet.line("axis" if degrees == 0 else "rule", (LEFT, y(degrees)), (WIDTH_MM - RIGHT, y(degrees)))
        sheet.text("side", (LEFT - 2, y(degrees) + 1), f"{degrees:+d}" if degrees else "0")
    for hertz in [m * 10**power for power in range(1, 5) for m in (1, 2, 5)]:
        if f[0] <= hertz <= f[-1]:
            sheet.line("rule", (x(math.log2(hertz)), TOP), (x(math.log2(hertz)), HEIGHT_MM - FOOT))
            sheet.text("figure", (x(math.log2(hertz)), HEIGHT_MM - FOOT + 5), f"{hertz:g}")
    for kind, phase in (("computed", record.computed_deg), ("measured", record.measured_deg)):
        sheet.path(kind, _steps(f, phase, x, y))
    for pair in record.resonances:
        if pair.measured_hz is not None:
            sheet.circle("found", (x(math.log2(pair.measured_hz)), y(0.0)), 1.6)
    return sheet.to_svg()


def _steps(f: list[float], phase: list[float], x: Scale, y: Scale) -> str:
    """A curve in SVG's steps, begun anew where the phase has gone round."""
    steps = []
    for at, (hertz, degrees) in enumerate(zip(f, phase, strict=True)):
        jumps = at == 0 or abs(degrees - phase[at - 1]) > TURN_DEG
        steps.append(f"{'M' if jumps else 'L'}{number(x(math.log2(hertz)))} {number(y(degrees))}")
    return " ".join(steps)
