"""A plan as a picture in a page."""

from optimizer.handoff.sheets.plan import Line, Plan, Round
from optimizer.views.drawings.canvas import Canvas, Point

EDGE_MM, LEAST_MM = 3.0, 230.0


def picture_of(plan: Plan) -> Canvas:
    """The plan as a drawing of a page, a unit a millimetre; in the middle of `LEAST_MM` where it is shorter, as a page
    draws every one as wide as itself."""
    left, bottom, right, top = plan.extent
    wide = max(right - left + 2.0 * EDGE_MM, LEAST_MM)
    canvas = Canvas(wide, top - bottom + 2.0 * EDGE_MM, plan.title, "plan")

    def at(point: Point) -> Point:
        return point[0] + (wide - left - right) / 2.0, top - point[1] + EDGE_MM

    for shape in plan.shapes:
        kind = f"plan-{shape.layer}"
        if isinstance(shape, Line):
            ends = "z" if shape.closed else ""
            steps = " L".join("{:.2f} {:.2f}".format(*at(point)) for point in shape.points)
            canvas.path(kind, f"M{steps}{ends}")
        elif isinstance(shape, Round):
            canvas.circle(kind, at(shape.centre), shape.diameter_mm)
        else:
            side = {"start": "", "middle": " mid", "end": " end"}[shape.anchor]
            canvas.text(f"{kind}{side}", at(shape.at), shape.words, **{"font-size": 1.35 * shape.height_mm})
    return canvas
