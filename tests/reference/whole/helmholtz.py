"""Impedances of whole ducts, of their inside alone and of the air around them, by finite elements; see the README.

Needs NGSolve, which the project does not: in an environment of its own, `pip install ngsolve`. Lengths are in mm.
"""

from typing import NamedTuple

import ngsolve as ng
import numpy as np
from netgen.meshing import MeshingParameters
from netgen.occ import Box, OCCGeometry, Pnt, Sphere
from numpy.polynomial import Legendre, Polynomial
from shapes import PARTS, bell_of, side, top_of

SPEED, DENSITY = 343.2, 1.2041
MESH = {"order": 3, "rim": 0.3, "levels": 2, "far": 0.72}
CENTRE = 0.66


def meshed(case, part, rim, levels, order, far):
    """Mesh of the half y > 0 of the air, boundaries named port0, port1, ... and far, and the ports."""
    solid, ports = PARTS[part](case)
    centre, radius = far_sphere(case, far)
    wide = 9.0 * radius
    right = Box(Pnt(-wide, 0, -wide), Pnt(wide, wide, wide))
    if part == "inside":
        air = solid * right
    else:
        ball = Sphere(Pnt(centre, 0, 0), radius) * right
        for face in ball.faces:
            face.name = "far" if face.center.y > 1e-3 else "wall"
        air = ball - solid
    name_faces(air, ports)
    for edge in air.edges:
        at = edge_points(edge) if edge.mass > 1e-6 else np.zeros((1, 3))
        beyond = np.max(np.linalg.norm(at - [centre, 0, 0], axis=1)) > 0.99 * radius
        if np.max(np.abs(at[:, 1])) > 1e-6 and not beyond and not any(lies_on(port, at) for port in ports):
            sharpen(case, edge, at, rim)
    sizes = MeshingParameters(maxh=0.2 * radius, grading=0.35, segmentsperedge=0.5, curvaturesafety=1.5)
    for hole in case["holes"]:
        for height in np.arange(0.0, top_of(case, hole) + hole["r"], 0.5 * hole["r"]):
            sizes.RestrictH(x=hole["x"], y=0.3 * hole["r"], z=side(hole) * height, h=0.8 * hole["r"])
    mesh = ng.Mesh(OCCGeometry(air).GenerateMesh(sizes))
    if levels:
        mesh.RefineHP(levels, factor=0.125)
    mesh.Curve(order + 1)
    return mesh, ports


def name_faces(air, ports):
    """Name the faces of ports by their number, others `wall`, but for the far one."""
    for face in air.faces:
        if face.name != "far":
            face.name = "wall"
        for number, port in enumerate(ports):
            middle = (port.x, 4.0 * port.radius / (3.0 * np.pi), port.z)
            apart = abs(face.center.x - port.x) if port.on_axis else abs(face.center.z - port.z)
            if apart < 1e-6 and np.linalg.norm(np.array([*face.center]) - middle) < 0.02 * port.radius:
                face.name = f"port{number}"


def sharpen(case, edge, at, rim):
    """Refine along an edge, but little at closed holes and on the upper faces of pads."""
    hole = hole_at(case, at)
    calm = hole and (hole["state"] == "closed" or np.min(np.abs(at[:, 2])) > top_of(case, hole) + pad_top(hole))
    edge.maxh = (0.8 if calm else rim) * (hole["r"] if hole else bell_of(case)[1])
    if not calm:
        edge.hpref = 1


def edge_points(edge):
    """Points (5, 3) along an edge."""
    low, high = edge.parameter_interval
    return np.array([[*edge.Value(low + share * (high - low))] for share in np.linspace(0.0, 1.0, 5)])


def lies_on(port, at):
    """Whether an edge is a port's rim."""
    normal = at[:, 0] - port.x if port.on_axis else at[:, 2] - port.z
    return np.max(np.abs(normal)) < 1e-6


def far_sphere(case, far):
    """Centre on the axis and radius [mm]."""
    length = bell_of(case)[0]
    return CENTRE * length, far * length


def hole_at(case, at):
    """The hole that an edge belongs to; None for the duct's ends."""
    x = at[:, 0].mean()
    return min(
        (hole for hole in case["holes"] if abs(hole["x"] - x) < 3.0 * hole["r"]),
        key=lambda hole: abs(hole["x"] - x),
        default=None,
    )


def pad_top(hole):
    """Height of the upper face of a hole's pad above the hole's top, less a little."""
    return hole["pad"]["gap"] + 0.9 * hole["pad"].get("thickness", 2.0) if "pad" in hole else np.inf


MOST_DEGREE = 7
DEGREES = [degree for degree in range(MOST_DEGREE + 1) for _ in range(degree + 1)]


def harmonics(centre, radius):
    """Spherical harmonics even in y about (centre, 0, 0), in the order of DEGREES, of whatever size."""
    x, y, z = (ng.x - centre) / radius, ng.y / radius, ng.z / radius
    for degree in range(MOST_DEGREE + 1):
        real, imaginary = ng.CF(1.0), ng.CF(0.0)
        for order in range(degree + 1):
            height = ng.CF(0.0)
            for factor in reversed(Legendre.basis(degree).deriv(order).convert(kind=Polynomial).coef):
                height = height * z + factor
            yield height * real
            real, imaginary = real * x - imaginary * y, real * y + imaginary * x


def outward(degree, x):
    """-r p'/p [1] of an outgoing wave of a degree at x = k r, by the recurrence of spherical Hankel functions."""
    share = -1j
    for lower in range(degree):
        share = 1.0 / ((2 * lower + 1) / x - share)
    return degree + 1 - x * share


def still(degree):
    """What stands in the finite elements for it: exact for degrees 0 and 1 where k r is small, near for others."""
    return 1.0 + 0.5 * degree * (degree + 1)


class Reduced(NamedTuple):
    """The finite elements on a basis of their solutions: impedances at any frequency among those solved at.

    Attributes
    ----------
    stiff, mass : (n, n), the far sphere's `still` part in stiff
    driven : (n, ports) mean over each port, times its area [m2]
    area : (ports,) of the whole disks [m2]
    far : (n, harmonics) normalised on the far sphere; none without one
    radius : of the far sphere [m]
    """

    stiff: np.ndarray
    mass: np.ndarray
    driven: np.ndarray
    area: np.ndarray
    far: np.ndarray
    radius: float

    def impedance(self, f):
        """Pressures at the ports per flow into each [Pa s/m3]: (ports, ports) at a frequency [Hz]."""
        k = 2.0 * np.pi * f / SPEED
        system = (self.stiff - k * k * self.mass).astype(complex)
        if self.far.size:
            rise = np.array([outward(degree, k * self.radius) - still(degree) for degree in DEGREES])
            system += self.far * (rise / self.radius) @ self.far.T
        half_area = 0.5 * self.area
        mean = self.driven / half_area
        return 2j * np.pi * f * DENSITY * (mean.T @ np.linalg.solve(system, self.driven)) / self.area


def reduced(case, part, nodes, order, rim, levels, far):
    """Solve at the nodes [Hz] and project: `Reduced`, and the number of elements."""
    mesh, ports = meshed(case, part, rim, levels, order, far)
    centre, radius = far_sphere(case, far)
    space = ng.H1(mesh, order=order)
    trial, test = space.TnT()
    stiff, mass = ng.BilinearForm(space, symmetric=True), ng.BilinearForm(space, symmetric=True)
    stiff += ng.grad(trial) * ng.grad(test) * ng.dx
    mass += trial * test * ng.dx
    sources = [ng.LinearForm(test * ng.ds(f"port{number}")).Assemble().vec for number in range(len(ports))]
    if part != "inside":
        along = ng.grad(trial).Trace() * ng.grad(test).Trace()
        stiff += (trial * test / radius + 0.5 * radius * along) * ng.ds("far")
        for value in harmonics(centre, radius):
            size = ng.Integrate(value * value, mesh, definedon=mesh.Boundaries("far"), order=2 * MOST_DEGREE)
            sources.append(ng.LinearForm(value / np.sqrt(size) * test * ng.ds("far")).Assemble().vec)
    stiff, mass = stiff.Assemble().mat, mass.Assemble().mat
    system, columns = stiff.CreateMatrix(), []
    for f in nodes:
        system.AsVector().data = stiff.AsVector() - (2.0 * np.pi * f / SPEED * 1e-3) ** 2 * mass.AsVector()
        inverse = system.Inverse(space.FreeDofs(), "sparsecholesky")
        columns += [(inverse * source).Evaluate().FV().NumPy().copy() for source in sources]
        del inverse
    basis, weight, _ = np.linalg.svd(np.array(columns).T, full_matrices=False)
    basis = basis[:, weight > 1e-13 * weight[0]]
    loads = basis.T @ np.array([source.FV().NumPy() for source in sources]).T
    area = np.array([np.pi * port.radius**2 for port in ports])
    count = len(ports)
    # lengths in the mesh are mm
    return Reduced(
        1e-3 * projected(stiff, basis), 1e-9 * projected(mass, basis), 1e-6 * loads[:, :count], 1e-6 * area,
        1e-3 * loads[:, count:], 1e-3 * radius,
    ), mesh.ne  # fmt: skip


def projected(matrix, basis):
    """basis^T matrix basis (n, n)."""
    vector, found = matrix.CreateColVector(), []
    for column in basis.T:
        vector.FV().NumPy()[:] = column
        found.append(basis.T @ (matrix * vector).Evaluate().FV().NumPy())
    small = np.array(found)
    return 0.5 * (small + small.T)
