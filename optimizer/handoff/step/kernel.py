"""Calls of the CAD kernel for solids: how they are made, joined and measured; `kernel_files.py` has those for files.

Millimetres. No other module imports the kernel's package. Surfaces stay what a maker would draw, planes, cylinders,
cones and tori, so that a file shows true diameters; only a bend that widens as it turns is none of these.
The kernel comes with the extra `cad`; where it is not installed, importing this module raises ImportError.
"""

import math
from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from OCP.Bnd import Bnd_Box
from OCP.BRep import BRep_Builder, BRep_Tool
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakePolygon,
    BRepBuilderAPI_MakeVertex,
    BRepBuilderAPI_MakeWire,
)
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepGProp import BRepGProp
from OCP.BRepOffsetAPI import BRepOffsetAPI_ThruSections
from OCP.BRepPrimAPI import BRepPrimAPI_MakeRevol
from OCP.collections import IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher, List_TopoDS_Shape
from OCP.GC import GC_MakeArcOfCircle
from OCP.GeomAbs import GeomAbs_Cone, GeomAbs_Cylinder
from OCP.gp import gp_Ax1, gp_Ax2, gp_Circ, gp_Dir, gp_Pnt
from OCP.GProp import GProp_GProps
from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE, TopAbs_REVERSED, TopAbs_SOLID, TopAbs_VERTEX, TopAbs_WIRE
from OCP.TopExp import TopExp, TopExp_Explorer
from OCP.TopoDS import TopoDS, TopoDS_Compound

from optimizer.handoff.step.read_back import Point, RoundFace

Solid = Any
"""A solid, face, edge or vertex of the kernel; it is of use to these two modules alone."""

QUADRATURE = 1e-8
"""Share of a face's part in a volume that it may be out by."""

_ROUND = GeomAbs_Cylinder, GeomAbs_Cone


class KernelError(Exception):
    """What the kernel could not make, in a few words."""


class Frame(NamedTuple):
    """Where something round stands: a point of its axis, the axis's direction, a direction at right angles to it."""

    origin: Point = (0.0, 0.0, 0.0)
    along: Point = (0.0, 0.0, 1.0)
    across: Point = (1.0, 0.0, 0.0)

    def at(self, radius_mm: float, height_mm: float) -> Point:
        """The point so far from the axis and so far along it [mm]."""
        x, y, z = (
            start + radius_mm * out + height_mm * up
            for start, out, up in zip(self.origin, self.across, self.along, strict=True)
        )
        return x, y, z


def revolved(profile_mm: Sequence[tuple[float, float]], frame: Frame | None = None) -> Solid:
    """The solid that a polygon makes as it turns about an axis.

    Parameters
    ----------
    profile_mm : its corners, radius and height [mm]; it closes by itself, and may turn either way
    frame : whose axis it turns about; z by default

    Raises
    ------
    KernelError
        when that makes no solid
    """
    frame = frame or Frame()
    corners = list(profile_mm)
    twice = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(corners, [*corners[1:], corners[0]], strict=True))
    polygon = BRepBuilderAPI_MakePolygon()
    for corner in corners if twice < 0 else reversed(corners):
        polygon.Add(gp_Pnt(*frame.at(*corner)))
    if not polygon.IsDone():
        raise KernelError("a profile is no polygon")
    polygon.Close()
    face = BRepBuilderAPI_MakeFace(polygon.Wire(), True)
    if not face.IsDone():
        raise KernelError("a profile crosses itself")
    return BRepPrimAPI_MakeRevol(face.Face(), gp_Ax1(gp_Pnt(*frame.origin), gp_Dir(*frame.along))).Shape()


def torus_part(radius_mm: float, frame: Frame, bend_mm: float, turn_rad: float) -> Solid:
    """The solid that a disc makes as it turns about an axis beside it.

    Parameters
    ----------
    radius_mm : of the disc
    frame : where the disc stands, across toward the axis
    bend_mm : how far the axis lies from the disc's middle
    turn_rad : how far it turns
    """
    return BRepPrimAPI_MakeRevol(disc(frame, radius_mm), _axis(frame, bend_mm), turn_rad).Shape()


def widening_bend(sections: Sequence[tuple[Frame, float]]) -> Solid:
    """The solid that goes smoothly through discs.

    Parameters
    ----------
    sections : where each disc stands, and its radius [mm]

    Raises
    ------
    KernelError
        when that makes no solid
    """
    work = BRepOffsetAPI_ThruSections(True, False, 1e-7)
    for frame, radius in sections:
        stands = gp_Ax2(gp_Pnt(*frame.origin), gp_Dir(*frame.along), gp_Dir(*frame.across))
        work.AddWire(BRepBuilderAPI_MakeWire(BRepBuilderAPI_MakeEdge(gp_Circ(stands, radius)).Edge()).Wire())
    work.Build()
    if not work.IsDone():
        raise KernelError("a bend cannot be drawn through its sections")
    return work.Shape()


def _axis(frame: Frame, bend_mm: float) -> Any:
    """What a frame turns about, so far beside it on the side of its across."""
    (a0, a1, a2), (b0, b1, b2) = frame.across, frame.along
    square = a1 * b2 - a2 * b1, a2 * b0 - a0 * b2, a0 * b1 - a1 * b0
    return gp_Ax1(gp_Pnt(*frame.at(bend_mm, 0.0)), gp_Dir(*(-part for part in square)))


def fused(body: Solid, tools: Sequence[Solid]) -> Solid:
    """A body and tools in one, all at once; raises KernelError when the kernel gives up."""
    return _joined(BRepAlgoAPI_Fuse(), body, tools)


def cut(body: Solid, tools: Sequence[Solid]) -> Solid:
    """A body without its tools, all at once; raises KernelError when the kernel gives up."""
    return _joined(BRepAlgoAPI_Cut(), body, tools)


def _joined(work: Any, body: Solid, tools: Sequence[Solid]) -> Solid:
    if not tools:
        return body
    work.SetArguments(_listed([body]))
    work.SetTools(_listed(tools))
    work.Build()
    if not work.IsDone():
        raise KernelError("two solids cannot be joined or cut")
    return work.Shape()


def _listed(shapes: Sequence[Solid]) -> Any:
    listed = List_TopoDS_Shape()
    for shape in shapes:
        listed.Append(shape)
    return listed


def segment(first: Point, second: Point) -> Solid:
    """A straight line between two points [mm]."""
    return BRepBuilderAPI_MakeEdge(gp_Pnt(*first), gp_Pnt(*second)).Edge()


def arc(first: Point, middle: Point, last: Point) -> Solid:
    """A part of a circle through three points [mm]."""
    curve = GC_MakeArcOfCircle(*(gp_Pnt(*each) for each in (first, middle, last))).Value()
    return BRepBuilderAPI_MakeEdge(curve).Edge()


def disc(frame: Frame, radius_mm: float) -> Solid:
    """A round face about a frame's origin, at right angles to its axis [mm]."""
    circle = gp_Circ(gp_Ax2(gp_Pnt(*frame.origin), gp_Dir(*frame.along)), radius_mm)
    return BRepBuilderAPI_MakeFace(BRepBuilderAPI_MakeWire(BRepBuilderAPI_MakeEdge(circle).Edge()).Wire(), True).Face()


def point(place: Point) -> Solid:
    """A point [mm], as a compound, without which a file would leave it out."""
    compound, builder = TopoDS_Compound(), BRep_Builder()
    builder.MakeCompound(compound)
    builder.Add(compound, BRepBuilderAPI_MakeVertex(gp_Pnt(*place)).Vertex())
    return compound


def solids(shape: Solid) -> int:
    """How many solids there are."""
    return sum(1 for _ in explored(shape, TopAbs_SOLID))


def valid(shape: Solid) -> bool:
    """Whether the kernel finds nothing wrong with a shape."""
    return bool(BRepCheck_Analyzer(shape).IsValid())


def euler_number(solid: Solid) -> int:
    """Corners less edges plus faces, of a solid's surface, each face as the disc that it is less its inner rims: 2 less
    twice the number of its handles."""
    edges = sum(not BRep_Tool.Degenerated_s(TopoDS.Edge(edge)) for edge in _distinct(solid, TopAbs_EDGE))
    faces = sum(2 - len(list(explored(face, TopAbs_WIRE))) for face in explored(solid, TopAbs_FACE))
    return len(list(_distinct(solid, TopAbs_VERTEX))) - edges + faces


def volume_mm3(solid: Solid) -> float:
    """How much there is of a solid [mm3]; the kernel's plain quadrature would be out by up to 1e-5 of it."""
    figures = GProp_GProps()
    BRepGProp.VolumeProperties_s(solid, figures, QUADRATURE)
    return float(figures.Mass())


def bounding_box(shape: Solid) -> tuple[Point, Point]:
    """Least and greatest x, y and z of a shape [mm], tolerances left out."""
    box = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape, box, False, False)
    low, high = box.CornerMin(), box.CornerMax()
    return (low.X(), low.Y(), low.Z()), (high.X(), high.Y(), high.Z())


def round_faces(shape: Solid) -> list[RoundFace]:
    """All cylinders and cones of a shape's surface."""
    faces = [TopoDS.Face(face) for face in explored(shape, TopAbs_FACE)]
    surfaces = [(face, BRepAdaptor_Surface(face)) for face in faces]
    return [_round_face(face, surface) for face, surface in surfaces if surface.GetType() in _ROUND]


def _round_face(face: Any, surface: Any) -> RoundFace:
    low, high = surface.FirstVParameter(), surface.LastVParameter()
    if surface.GetType() == GeomAbs_Cone:
        body = surface.Cone()
        lean, middle = body.SemiAngle(), body.RefRadius()
        radii = middle + low * math.sin(lean), middle + high * math.sin(lean)
        low, high = low * math.cos(lean), high * math.cos(lean)
    else:
        body = surface.Cylinder()
        radii = body.Radius(), body.Radius()
    place, way = body.Axis().Location(), body.Axis().Direction()
    outward = body.Position().Direct() == (face.Orientation() != TopAbs_REVERSED)
    return RoundFace(not outward, (place.X(), place.Y(), place.Z()), (way.X(), way.Y(), way.Z()), (low, high), radii)


def explored(shape: Solid, kind: Any) -> Iterator[Solid]:
    """All of a kind that a shape is made of, as often as they occur."""
    explorer = TopExp_Explorer(shape, kind)
    while explorer.More():
        yield explorer.Current()
        explorer.Next()


def _distinct(shape: Solid, kind: Any) -> Iterator[Solid]:
    """Each edge or corner once, though faces share it."""
    seen = IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher()
    TopExp.MapShapes_s(shape, kind, seen)
    return (seen.FindKey(number) for number in range(1, seen.Extent() + 1))
