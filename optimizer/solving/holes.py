"""Records of holes: what each is like, the flat it ends in, the pad that closes it, and pads that cannot close."""

from typing import NamedTuple

import numpy as np

from optimizer.geometry.layout import Layout, in_flats, in_sunk_flats, padded, top_diameter_mm
from optimizer.geometry.pads import TOO_NARROW, UNSEALED, Pad, as_made, pad_sizes
from optimizer.records.layout import HoleRecord, PadRecord, Seat
from optimizer.solving.figures_of_merit import open_row
from optimizer.solving.problem import Measures, Problem
from optimizer.solving.stock_records import tool_record, tools_at

ROUNDED_MM = 0.02
"""What rounding may add to the difference of two widths."""


class Closure(NamedTuple):
    """The flat that a hole ends in, and the pad that closes it; None where there is none."""

    seat: Seat | None = None
    pad: PadRecord | None = None


def hole_records(problem: Problem, layout: Layout, measures: Measures) -> list[HoleRecord]:
    """Holes of a rounded layout, with the flats they end in and the pads that close them."""
    tops = np.round(np.asarray(top_diameter_mm(layout, problem.project), float), 4)
    row = open_row(problem.project)[1:-1]
    cutoff = {int(i): round(float(f), 1) for i, f in zip(row, measures.cutoff, strict=True)}
    tools = [tool_record(tool) for tool in tools_at(problem.project, layout)]
    found = [
        _hole_record(problem, layout, number, 2.0 * float(radius), float(top), closure, cutoff.get(number))
        for number, (radius, top, closure) in enumerate(
            zip(measures.bore_radius, tops, _closures(problem, layout, tops), strict=True)
        )
    ]
    return [hole.model_copy(update={"tool": tool}) for hole, tool in zip(found, tools, strict=True)]


def _hole_record(
    problem: Problem, layout: Layout, number: int, bore_mm: float, top_mm: float, closure: Closure, cutoff: float | None
) -> HoleRecord:
    """A hole: bore diameter where it stands and diameter at its top [mm], what closes it, its lattice's cutoff [Hz]."""
    hole = problem.project.holes[number]
    position = float(layout.position_mm[number])
    plated = bool(problem.choice.plate[number])
    return HoleRecord(
        id=hole.id,
        role=hole.role,
        by=hole.by,
        cover="key" if hole.by == "key" else "plate" if plated else "finger",
        rest=hole.rest,
        position_mm=position,
        azimuth_deg=hole.azimuth_deg,
        diameter_mm=float(layout.diameter_mm[number]),
        top_diameter_mm=top_mm,
        bore_diameter_mm=round(bore_mm, 3),
        chimney_mm=float(layout.chimney_mm[number]),
        body_diameter_mm=round(bore_mm + 2.0 * problem.project.bore.wall_mm, 2),
        touch_position_mm=None if hole.by == "key" else round(position + float(layout.touch_offset_mm[number]), 2),
        seat=closure.seat,
        pad=closure.pad,
        lattice_cutoff_hz=cutoff,
        locked=hole.locked,
    )


def _closures(problem: Problem, layout: Layout, tops_mm: np.ndarray) -> list[Closure]:
    """Flat and pad of each hole."""
    project, keywork, wall = problem.project, problem.project.keywork, problem.project.bore.wall_mm
    known = (np.asarray(row) for row in (in_flats(layout, project), padded(layout, project), layout.chimney_mm))
    by_rule = pad_sizes(tops_mm, keywork, in_sunk_flats(project), project.stock)
    pads = Pad(*map(np.asarray, as_made(by_rule, project)))
    sizes = zip(*known, *(np.round(np.asarray(values, float), 2).tolist() for values in pads), strict=True)
    held = {} if project.stock is None else {round(pad.mm, 2): pad.mm for pad in project.stock.pads}
    return [
        Closure(
            Seat(outer_diameter_mm=seat, rim_width_mm=rim, top_mm=round(chimney - wall, 2)) if flat else None,
            PadRecord(
                diameter_mm=held.get(pad, pad),
                cup_diameter_mm=cup,
                opening_mm=lift,
                recess_mm=keywork.pad_recess_mm,
                absorption=keywork.pad_absorption,
                in_stock=pad in held,
            )
            if closed
            else None,
        )
        for flat, closed, chimney, rim, seat, pad, cup, lift in sizes
    ]


def unsealed(holes: list[HoleRecord]) -> list[str]:
    """Pads that cannot close: on the round body, or wider than a flat sunk into it."""
    said = []
    for hole in holes:
        if hole.pad and not hole.seat:
            said.append(f"{hole.id}: {UNSEALED}")
        elif hole.seat and (hole.seat.top_mm or 0.0) < 0.0 and reaches_beyond(hole):
            said.append(f"{hole.id}: {TOO_NARROW}")
    return said


def reaches_beyond(hole: HoleRecord) -> bool:
    """Whether a hole's pad is wider than its flat: where that is sunk, it lies on the wall."""
    if hole.pad is None or hole.seat is None:
        return False
    return hole.pad.diameter_mm > hole.seat.outer_diameter_mm + ROUNDED_MM
