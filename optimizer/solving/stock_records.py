"""What a finished layout says of the stock: tools of its holes, and what the stock does not hold."""

from collections.abc import Mapping, Sequence

from optimizer.geometry.layout import Layout, padded
from optimizer.project.finishes import Tool, tool_at
from optimizer.project.model import Project
from optimizer.records.layout import HoleRecord
from optimizer.records.pieces import PieceRecord
from optimizer.records.stock import ToolRecord
from optimizer.solving.stock import BROKEN


def tools_at(project: Project, layout: Layout) -> list[Tool | None]:
    """Per hole (H,) the tool of the stock that gives it its diameter; None where none does."""
    rows = zip(project.holes, padded(layout, project), layout.diameter_mm, strict=True)
    return [tool_at(project, hole, bool(shut), float(diameter)) for hole, shut, diameter in rows]


def tool_record(tool: Tool | None) -> ToolRecord | None:
    """A tool as a record."""
    if tool is None:
        return None
    return ToolRecord(kind=tool.kind, size_mm=tool.mm, called=tool.called, tolerance_mm=tool.tolerance_mm)


def stock_sentences(
    project: Project, holes: Sequence[HoleRecord], pieces: Sequence[PieceRecord], provenance: Mapping[str, object]
) -> list[str]:
    """What the stock leaves to settle: limits that its sizes break, pads and O-rings that it does not hold."""
    stock = project.stock
    if stock is None:
        return []
    said = []
    if BROKEN in provenance:
        said.append(
            f"sizes of the stock break limits by {provenance[BROKEN]:g} mm that are kept without them: say finish = "
            "'free' of a hole there, or add a size between"
        )
    if stock.pads:
        widest = stock.pads[-1].mm
        lacking = [(hole.id, hole.pad) for hole in holes if hole.pad is not None and not hole.pad.in_stock]
        said += [
            f"{name}: its pad must be {pad.diameter_mm:g} mm wide, but the stock's widest is {widest:g}"
            for name, pad in lacking
        ]
    if stock.o_rings:
        joints = enumerate((piece.joint for piece in pieces), start=1)
        said += [
            f"joint {number}: no O-ring of the stock fits its groove of {joint.groove_diameter_mm:g} mm"
            for number, joint in joints
            if joint is not None and joint.seal == "o-ring" and joint.o_ring is None
        ]
    return said
