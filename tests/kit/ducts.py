"""Builders of ducts for the tests; lengths in millimetres."""

import numpy as np

from acoustics.bore import SLICE_RATIO, Bore, slice_positions
from acoustics.network import Climate, Duct, as_arrays
from acoustics.reed import Reed
from acoustics.toneholes import Holes

MM = 1e-3
NO_REED = Reed(0.0, np.inf, 0.0, np.inf, 0.0)


def make_holes(
    position=(), radius=(), chimney=(), body=(), rim=None, pad=None, gap=None, top=None, recess=None
) -> Holes:
    """Holes in line from sequences [mm]; straight and without pads unless given."""
    zeros = np.zeros(len(position))
    top = radius if top is None else top
    given = (zeros if row is None else row for row in (rim, pad, gap, recess))
    rows = (position, zeros, radius, top, chimney, body, *given, zeros)
    return Holes(*(np.asarray(row, float) * MM for row in rows))


def make_duct(points, holes=None, end_wall=0.0, reed=NO_REED, degC=20.0, ratio=SLICE_RATIO, scale=1.0) -> Duct:
    """Duct from bore points [(position, radius)] [mm] and wall [mm]; scale shrinks the bore's radii only."""
    table = np.asarray(points, float) * MM
    bore = Bore(table[:, 0], table[:, 1] * scale)
    holes = make_holes() if holes is None else holes
    slices = slice_positions(bore, ratio)
    return as_arrays(Duct(bore, slices, table[-1, 0], end_wall * MM, holes, reed, Climate(degC, degC)))


def axial_length(r1, r2, length) -> float:
    """Axial length of a cone whose length is given as the mean over its cross-section, as the chain counts it."""
    return np.sqrt(length**2 - 0.5 * (r2 - r1) ** 2)


def apex_cone(r1, r2, length) -> list[tuple[float, float]]:
    """Bore points [mm] of a cone whose length is measured from the apex, as spherical waves count it."""
    return [(0.0, r1), (axial_length(r1, r2, length), r2)]


def cents(f, reference) -> np.ndarray:
    """Interval from reference up to f [cents]."""
    return 1200.0 * np.log2(np.asarray(f) / np.asarray(reference))
