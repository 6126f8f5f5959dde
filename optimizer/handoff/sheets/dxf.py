"""A plan as DXF: millimetres, polylines and circles on named layers, no blocks, hatches or splines."""

import io
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from optimizer.handoff.sheets.plan import LAYERS, Line, Plan, Round, Shape

if TYPE_CHECKING:
    from ezdxf.layouts.layout import Modelspace

VERSION = "R2010"
COLOURS = {"outline": 7, "holes": 1, "centres": 3, "marks": 8, "text": 5}
"""Colours of layers by the standard's numbers: black or white, red, green, grey, blue."""


def dxf_text(plan: Plan) -> str:
    """The plan as the text of a file, the same for the same plan.

    Parameters
    ----------
    plan : what is drawn; 1 unit is 1 mm
    """
    from ezdxf import units
    from ezdxf.document import Drawing

    with _no_dates():
        document = Drawing.new(VERSION)
        document.units = units.MM
        document.header["$MEASUREMENT"] = 1
        for layer in LAYERS:
            document.layers.add(layer, color=COLOURS[layer])
        for shape in plan.shapes:
            _drawn(document.modelspace(), shape)
        for kind in sorted(document.entitydb.dxf_types_in_use()):  # else in an order that differs from run to run
            document.classes.add_class(kind)
        stream = io.StringIO()
        document.write(stream)
    return stream.getvalue()


def _drawn(space: "Modelspace", shape: Shape) -> None:
    attributes: dict[str, Any] = {"layer": shape.layer}
    if isinstance(shape, Line):
        space.add_lwpolyline(shape.points, close=shape.closed, dxfattribs=attributes)
    elif isinstance(shape, Round):
        space.add_circle(shape.centre, shape.diameter_mm / 2.0, dxfattribs=attributes)
    else:
        from ezdxf.enums import TextEntityAlignment as Side

        sides = {"start": Side.LEFT, "middle": Side.CENTER, "end": Side.RIGHT}
        words = space.add_text(shape.words, height=shape.height_mm, dxfattribs=attributes)
        words.set_placement(shape.at, align=sides[shape.anchor])


@contextmanager
def _no_dates() -> Iterator[None]:
    """Let the library write no dates and no ids made anew, so that a layout gives the same bytes each time."""
    from ezdxf._options import options

    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before
