"""Outer length of open tone holes as they are made, by finite elements of Laplace's equation; see the README.

Needs NGSolve, which the project does not: in an environment of its own, `pip install ngsolve`. Lengths are in hole
radii. Every result goes to `openings.json` as soon as it is there; what is there already is not computed again.

    python openings.py plan          every opening of the plan
    python openings.py convergence   a few of them again, finer
"""

import json
import sys
from pathlib import Path

import ngsolve as ng
import numpy as np
from netgen.meshing import MeshingParameters
from netgen.occ import Axes, Box, Cylinder, OCCGeometry, Pnt, Sphere, WorkPlane, X, Z

RESULTS = Path(__file__).with_name("openings.json")
PAD_THICKNESS = 0.3
MESH = {"order": 3, "rim": 0.05, "far": 40.0, "deep": 2.0}
SECTION_MESH = MESH | {"order": 4}
FINER = ({"order": 4}, {"order": 4, "rim": 0.025}, {"far": 80.0}, {"deep": 3.0})
PLAIN = ("saddle", "plane")
BARE = {"pad_radius": 0.0, "pad_gap": 0.0}
PLANE = {"kind": "plane", **BARE}
FREE_PIPE = {"kind": "free", "seat_width": 0.1, **BARE}
PADDED_PIPE = {"kind": "free", "seat_width": 0.4, "pad_radius": 1.5, "pad_gap": 0.2}


def body(case, top, far):
    """The solid: a round body, a plane or nothing, with the seat on it or the flat cut into it, without the hole."""
    kind, seat, around = case["kind"], 1.0 + case.get("seat_width", 0.0), 3.0 * far
    if kind == "plane":
        return Box(Pnt(-around, -around, -around), Pnt(around, around, top))
    if kind == "free":
        return Cylinder(Pnt(0, 0, -around), Z, r=seat, h=around + top)
    radius = case["body_radius"]
    solid = Cylinder(Pnt(-around, 0, 0), X, r=radius, h=2.0 * around)
    if kind == "flat":
        solid = solid + Cylinder(Pnt(0, 0, 0), Z, r=seat, h=top)
        if top < radius:
            solid = solid - Cylinder(Pnt(0, 0, top), Z, r=seat, h=2.0 * radius)
    return solid


def air(case, top, deep, far):
    """A quarter of the air in and around the hole, up to the radius far about its top; faces `inlet` and `far`."""
    quarter = Box(Pnt(0, 0, top - 2 * far), Pnt(2 * far, 2 * far, top + 2 * far))
    outside = Sphere(Pnt(0, 0, top), far) * quarter
    for face in outside.faces:
        face.name = "far" if min(face.center.x, face.center.y) > 1e-3 else "mirror"
    channel = Cylinder(Pnt(0, 0, top - deep), Z, r=1.0, h=deep + 2.0)
    outside = outside - (body(case, top, far) - channel)
    if case["kind"] == "free":
        outside = outside - Cylinder(Pnt(0, 0, top - 3.0 * far), Z, r=1.0, h=3.0 * far - deep)
    if case["pad_gap"]:
        outside = outside - Cylinder(Pnt(0, 0, top + case["pad_gap"]), Z, r=case["pad_radius"], h=PAD_THICKNESS)
    for face in outside.faces:
        x, y, z = face.center.x, face.center.y, face.center.z
        if abs(z - top + deep) < 1e-9 and np.hypot(x, y) < 1.0:
            face.name = "inlet"
        elif face.name not in ("far", "mirror"):
            face.name = "solid"
    return outside


def sizes(case, top, rim, far):
    """Mesh sizes: fine along every rim and in the slit, growing from there."""
    mesh = MeshingParameters(maxh=far / 3, grading=0.45, optsteps3d=1, curvaturesafety=1.5, segmentsperedge=0.5)
    radius = case.get("body_radius")

    def ring(around, size, height):
        for angle in np.linspace(0.0, np.pi / 2.0, int(np.ceil(around * np.pi / 2.0 / size)) + 1):
            x, y = around * np.cos(angle), around * np.sin(angle)
            mesh.RestrictH(x=x, y=y, z=height if height is not None else np.sqrt(max(radius**2 - y * y, 0.0)), h=size)

    ring(1.0, rim, None if case["kind"] == "saddle" else top)
    if case["kind"] not in PLAIN:
        seat = 1.0 + case["seat_width"]
        ring(seat, 1.5 * rim, top)
        if radius and top < radius:
            ring(seat, 2.0 * rim, None)
    gap = case["pad_gap"]
    if gap:
        ring(case["pad_radius"], 1.5 * rim, top + gap)
        ring(case["pad_radius"], 3.0 * rim, top + gap + PAD_THICKNESS)
        size = max(0.6 * gap, rim)
        for within in np.arange(1.0, case["pad_radius"], size):
            ring(within, size, top + gap / 2.0)
    for within in np.arange(0.1, 1.0, 0.25):
        ring(within, 0.25, top - 0.3)
        ring(within, 0.3, top + 0.3)
    return mesh


def in_space(case, top, order, rim, far, deep):
    """Mesh of a quarter of the air, and the weight of a point."""
    rim = min(rim, 0.18 * case["pad_gap"]) if case["pad_gap"] else rim
    shape = OCCGeometry(air(case, top, deep, far))
    mesh = ng.Mesh(shape.GenerateMesh(sizes(case, top, rim, far)))
    mesh.Curve(order + 1)
    return mesh, ng.CF(1.0)


def block(inner, outer, low, high):
    """A ring of rectangular section as the face of its section."""
    return WorkPlane(Axes((inner, low, 0), n=Z, h=X)).Rectangle(outer - inner, high - low).Face()


def in_section(case, top, order, rim, far, deep):
    """The same of a section, where all is symmetric about the hole's axis; the weight is the distance from it."""
    seat, gap, wide = 1.0 + case.get("seat_width", 0.0), case["pad_gap"], 3.0 * far
    outside = WorkPlane(Axes((0, top, 0), n=Z, h=X)).Circle(far).Face() * block(0, wide, top - wide, top + wide)
    if case["kind"] != "free":
        outside = outside - block(seat, wide, -wide, 0)
    outside = outside - block(0, seat, top - wide, top) + block(0, 1, top - deep, top)
    if gap:
        outside = outside - block(0, case["pad_radius"], top + gap, top + gap + PAD_THICKNESS)
    for edge in outside.edges:
        at = edge.center
        if at.x < 1e-9:
            edge.name = "mirror"
        elif abs(at.y - top + deep) < 1e-9 and at.x < 1.0:
            edge.name = "inlet"
        else:
            edge.name = "far" if np.hypot(at.x, at.y - top) > 0.6 * far else "solid"
    for corner in outside.vertices:
        near = np.hypot(corner.p.x, corner.p.y - top) < 4.0
        corner.maxh = 0.1 * rim if near and corner.p.x > 1e-9 else far / 3.0
    mesh = ng.Mesh(OCCGeometry(outside, dim=2).GenerateMesh(maxh=far / 5.0, grading=0.2))
    mesh.Curve(order + 1)
    return mesh, ng.x


def outer_length(case, order, rim, far, deep):
    """Outer length of the opening over the hole's radius, its friction, and the number of elements.

    Air flows into the hole at unit speed; the mean potential at the inlet, over that of a channel of unit speed per
    length, is the length of the channel with its outside. Far out, the potential falls as 1/r. Friction is the mean
    square of the speed along the walls, times their area over the hole's, less what the channel has for its length.
    """
    radius = case.get("body_radius", 0.0)
    far = max(far, 5.0 * radius)
    meshed = in_space if radius or case.get("space") else in_section
    mesh, weight = meshed(case, radius + case.get("seat_top", 0.0), order, rim, far, deep)
    space = ng.H1(mesh, order=order)
    trial, test = space.TnT()
    form = ng.BilinearForm(space, symmetric=True, condense=True)
    form += weight * ng.grad(trial) * ng.grad(test) * ng.dx + weight * trial * test / far * ng.ds("far")
    form.Assemble()
    source = ng.LinearForm(weight * test * ng.ds("inlet")).Assemble().vec
    potential = ng.GridFunction(space)
    reduced = source + form.harmonic_extension_trans * source
    potential.vec.data = form.mat.Inverse(space.FreeDofs(True), "sparsecholesky") * reduced
    potential.vec.data += form.harmonic_extension * potential.vec + form.inner_solve * source
    inlet, walls = mesh.Boundaries("inlet"), mesh.Boundaries("solid")
    area = ng.Integrate(weight, mesh, definedon=inlet)
    mean = ng.Integrate(weight * potential, mesh, definedon=inlet) / area
    along = ng.grad(potential).Trace()
    friction = ng.Integrate(weight * along * along, mesh, definedon=walls) / area
    return mean - deep, friction - 2.0 * deep, mesh.ne


def spread(count, dimensions, seed):
    """Points spread evenly over the unit cube, (count, dimensions): steps of the generalised golden ratio."""
    root = 1.5
    for _ in range(60):
        root = (1.0 + root) ** (1.0 / (dimensions + 1.0))
    steps = root ** -np.arange(1.0, dimensions + 1.0)
    return (seed + np.arange(1, count + 1)[:, None] * steps) % 1.0


def flat(ratio, width, top, pad=0.0, gap=0.0):
    """A flat seat from shares of the ranges; it stays within the body's width, the pad on it if it is sunk."""
    widest = min(0.8, 0.95 / ratio - 1.0) if ratio else 0.8
    seat = 0.1 + width * (widest - 0.1)
    height = -0.3 + 1.8 * top
    height = np.copysign(max(abs(height), 0.03), height)
    body = {"body_radius": 1.0 / ratio} if ratio else {}
    return {
        "kind": "flat",
        **body,
        "seat_width": seat,
        "seat_top": height,
        **over(seat, pad if height > 0.0 else 0.0, gap),
    }


def sunk(ratio, width, depth, clear):
    """A sunk flat under a pad of its size, from shares of the ranges; the pad stays clear of the crown."""
    height = -0.03 - 0.27 * depth
    return flat(ratio, width, (height + 0.3) / 1.8, 0.0, gap(clear) - height)


def over(seat, pad, gap):
    """A pad from its share of the way from the seat's edge to twice the hole."""
    return {"pad_radius": 1.0 + seat + max(1.2 * pad - 0.2, 0.0) * (1.0 - seat) if gap else 0.0, "pad_gap": gap}


def bodies():
    """Openings of round bodies, by kind."""
    ratios = (0.05, 0.7, 0.35, 0.2, 0.5, 0.1, 0.6, 0.15, 0.27, 0.43)
    flats, padded, both = spread(40, 3, 0.5), spread(34, 3, 0.2), spread(62, 5, 0.5)
    return {
        "saddle": [{"kind": "saddle", "body_radius": 1.0 / ratio, **BARE} for ratio in ratios],
        "flat": [flat(0.05 + 0.65 * at[0], at[1], at[2]) for at in flats],
        "saddle-pad": [
            {
                "kind": "saddle",
                "body_radius": 1.0 / (0.05 + 0.65 * at[0]),
                **over(0.1, at[1] * 5 / 6 + 1 / 6, gap(at[2])),
            }
            for at in padded
        ],
        "sunk-pad": [sunk(0.05 + 0.65 * at[0], *at[1:]) for at in spread(13, 4, 0.5)],
        "flat-pad": [flat(0.05 + 0.65 * at[0], at[1], at[2], at[3], gap(at[4])) for at in both],
        "space": [{**case, "space": 1} for case in (FREE_PIPE, PLANE, PADDED_PIPE)],
    }


def limits():
    """Openings symmetric about the hole's axis: on a body without end, or on none."""
    flats, padded, free, plane = spread(20, 2, 0.5), spread(130, 4, 0.5), spread(40, 3, 0.5), spread(48, 2, 0.5)
    return {
        "plane": [PLANE],
        "plane-pad": [{"kind": "plane", **over(0.1, at[0], gap(at[1]))} for at in plane],
        "plane-flat": [flat(0.0, at[0], at[1]) for at in flats],
        "plane-flat-pad": [flat(0.0, at[0], at[1], at[2], gap(at[3])) for at in padded],
        "plane-sunk-pad": [sunk(0.0, *at) for at in spread(30, 3, 0.5)],
        "free": [{**FREE_PIPE, "seat_width": width} for width in (0.05, 0.1, 0.2, 0.3, 0.5, 0.8)],
        "free-pad": [
            {"kind": "free", "seat_width": 0.1 + 0.7 * at[0], **over(0.1 + 0.7 * at[0], at[1], gap(at[2]))}
            for at in free
        ],
    }


def gap(share):
    """A pad's gap from its share of the range, the narrow ones closer together."""
    return 0.2 * 12.5**share


def plan():
    """Every opening, (name, case), so that any beginning of the list covers all kinds; sections first."""
    listed = []
    for turn, kinds in enumerate((limits(), bodies())):
        for name, cases in kinds.items():
            pace = len(cases) * (1 if name.endswith("pad") else 3)
            listed += [(turn, i / pace, f"{name}-{i:02d}", case) for i, case in enumerate(cases)]
    return [(name, rounded(case)) for *_, name, case in sorted(listed, key=lambda entry: entry[:3])]


def rounded(case):
    """The same with lengths of five decimals, so that the file says exactly what was computed."""
    return {key: value if isinstance(value, str) else round(float(value), 5) for key, value in case.items()}


def keep(results):
    """Write the results, one opening a line."""
    lines = [f' "{name}": {json.dumps(entry)}' for name, entry in results.items()]
    RESULTS.write_text("{\n" + ",\n".join(lines) + "\n}\n", encoding="utf-8")


def main(what):
    """Compute what is not in the file yet."""
    ng.SetNumThreads(1)
    results = json.loads(RESULTS.read_text(encoding="utf-8")) if RESULTS.exists() else {}
    todo = [(name, case, MESH if "body_radius" in case or "space" in case else SECTION_MESH) for name, case in plan()]
    if what == "convergence":
        some = ("saddle-02", "flat-03", "saddle-pad-08", "flat-pad-00")
        picked = [(name, case) for name, case in plan() if name in some]
        todo = [(f"{name}/{i}", case, MESH | finer) for i, finer in enumerate(FINER) for name, case in picked]
    for name, case, mesh in todo:
        if name in results:
            continue
        try:
            length, friction, elements = outer_length(case, **mesh)
        except Exception as error:
            print(name, case, error, flush=True)
            continue
        results[name] = {
            **case,
            **mesh,
            "elements": elements,
            "length": round(length, 5),
            "friction": round(friction, 4),
        }
        print(name, results[name], flush=True)
        keep(results)


if __name__ == "__main__":
    main(sys.argv[1])
