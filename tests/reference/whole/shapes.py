"""Solids of ducts: their inside, the body in the air around, both; lengths in mm. Needs NGSolve, see the README."""

from typing import NamedTuple

import numpy as np
from netgen.occ import Axes, Axis, Cylinder, Pnt, WorkPlane, X, Y, Z

DEEP = 2.0
"""Channels that lead to ports are this many of their radii long."""


class Port(NamedTuple):
    """A driven face: centre (x, z) and radius of the full disk; `on_axis` if it faces along the duct."""

    x: float
    z: float
    radius: float
    on_axis: bool


def turned(points):
    """Solid of revolution about the x axis of a line of [position, radius] points."""
    (start, _), (end, _) = points[0], points[-1]
    plane = WorkPlane(Axes((0, 0, 0), n=-Y, h=X)).MoveTo(start, 0).LineTo(end, 0)
    for x, radius in reversed(points):
        plane.LineTo(x, radius)
    return plane.Close().Face().Revolve(Axis((0, 0, 0), X), 360)


def side(hole):
    """1 if the hole is in front of the duct, -1 if behind."""
    return -1.0 if abs(hole.get("azimuth_deg", 0.0)) > 90.0 else 1.0


def post(hole, radius, low, high):
    """A cylinder on the hole's axis between two heights above the duct's axis."""
    up = side(hole)
    return Cylinder(Pnt(hole["x"], 0, up * low), Z if up > 0 else -Z, r=radius, h=high - low)


def top_of(case, hole):
    """Height of the hole's top above the duct's axis: the seat's, or the body's crown."""
    return hole["seat"]["top"] if "seat" in hole else float(np.interp(hole["x"], *np.transpose(case["outer"])))


def bell_of(case):
    """Position and radius of the open end."""
    return case["bore"][-1]


def inside(case):
    """Bore and chimneys; holes are drawn out by DEEP radii above their tops, the bell beyond the end."""
    air = turned(case["bore"])
    end, wide = bell_of(case)
    ports = [Port(0.0, 0.0, case["bore"][0][1], True)]
    for hole in case["holes"]:
        high = top_of(case, hole) + (DEEP * hole["r"] if hole["state"] == "open" else 0.0)
        air = air + post(hole, hole["r"], 0.0, high)
        if hole["state"] == "open":
            ports.append(Port(hole["x"], side(hole) * high, hole["r"], False))
    air = air + Cylinder(Pnt(end - 1.0, 0, 0), X, r=wide, h=DEEP * wide + 1.0)
    return air, [*ports, Port(end + DEEP * wide, 0.0, wide, True)]


def body(case):
    """The duct's body with its seats and no hole in it."""
    solid = turned(case["outer"])
    for hole in case["holes"]:
        if "seat" in hole:
            solid = solid + post(hole, hole["seat"]["r"], 0.0, hole["seat"]["top"])
    return solid


def pads(case):
    """Disks over open holes and on the seats of closed ones."""
    for hole in case["holes"]:
        if "pad" in hole:
            pad = hole["pad"]
            low = top_of(case, hole) + (pad["gap"] if hole["state"] == "open" else 0.0)
            yield post(hole, pad["r"], low, low + pad.get("thickness", 2.0))


def outside(case):
    """The solid within the air around; holes and bell reach DEEP radii into it, and no further."""
    solid = body(case)
    end, wide = bell_of(case)
    ports = []
    for hole in case["holes"]:
        top = top_of(case, hole)
        if hole["state"] == "open":
            low = top - DEEP * hole["r"]
            solid = solid - post(hole, hole["r"], low, top + 2.0 * hole["r"])
            ports.append(Port(hole["x"], side(hole) * low, hole["r"], False))
    solid = solid - Cylinder(Pnt(end - DEEP * wide, 0, 0), X, r=wide, h=2.0 * DEEP * wide)
    return sum_of(solid, pads(case)), [*ports, Port(end - DEEP * wide, 0.0, wide, True)]


def whole(case):
    """The solid within the air in and around the duct, which is driven at its input."""
    solid = body(case) - turned(case["bore"])
    for hole in case["holes"]:
        above = 2.0 * hole["r"] if hole["state"] == "open" else 0.0
        solid = solid - post(hole, hole["r"], 0.0, top_of(case, hole) + above)
    entry = case["bore"][0][1]
    plug = Cylinder(Pnt(-2.0, 0, 0), X, r=case["outer"][0][1], h=2.0)
    return sum_of(solid + plug, pads(case)), [Port(0.0, 0.0, entry, True)]


def sum_of(solid, others):
    """Union of solids."""
    for other in others:
        solid = solid + other
    return solid


PARTS = {"inside": inside, "outside": outside, "whole": whole}
