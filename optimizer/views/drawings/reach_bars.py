"""How far fingers are apart against what the hand allows: one bar for each pair, to one scale."""

from collections.abc import Sequence

from optimizer.records.layout import ReachRecord
from optimizer.views.drawings.axes import Scale, multiples
from optimizer.views.drawings.canvas import Canvas

WIDTH, LEFT, RIGHT, ROW, TOP = 420.0, 62.0, 56.0, 22.0, 20.0


def reach_drawing(reach: Sequence[ReachRecord]) -> Canvas:
    """Bars: comfortable, strained up to the working limit, beyond it up to the maximum; a stroke where the pair is."""
    far = 1.05 * max(max(pair.maximum_mm or pair.working_mm, pair.spacing_mm) for pair in reach)
    label = "; ".join(f"{pair.pair} {pair.spacing_mm:.1f} mm of {pair.working_mm:.1f}" for pair in reach)
    drawing = Canvas(WIDTH, TOP + ROW * len(reach) + 4, f"reach: {label}", "chart")
    x = Scale(0.0, far, LEFT, WIDTH - RIGHT)
    for mm in multiples(20.0, 0.0, far):
        drawing.line("rule", (x(mm), TOP - 4), (x(mm), TOP + ROW * len(reach)))
        drawing.text("soft mid", (x(mm), TOP - 8), f"{mm:g}" if mm else "0 mm")
    for number, pair in enumerate(reach):
        y = TOP + ROW * number
        drawing.text("bold", (2, y + 15), pair.pair)
        ends = [0.0, pair.comfortable_mm, pair.working_mm, pair.maximum_mm or pair.working_mm]
        for kind, start, end in zip(("easy", "tight", "over"), ends, ends[1:], strict=False):
            drawing.box(kind, (x(start), y + 5), max(0.0, x(end) - x(start)), ROW - 10)
        if pair.sd_mm:
            limit = x(pair.working_mm - pair.sd_mm), x(pair.working_mm + pair.sd_mm)
            drawing.line("spread", (limit[0], y + ROW - 3), (limit[1], y + ROW - 3))
        drawing.line("at", (x(pair.spacing_mm), y + 2), (x(pair.spacing_mm), y + ROW - 2))
        drawing.text("end", (WIDTH - 4, y + 15), f"{pair.spacing_mm:.1f}")
    return drawing
