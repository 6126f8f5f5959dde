"""Builders of ducts for the tests; lengths in millimetres."""

import jax
import jax.numpy as jnp
import numpy as np

from acoustics.bore import SLICE_RATIO, Bore, slice_positions
from acoustics.network import Climate, Duct
from acoustics.reed import Reed
from acoustics.toneholes import Holes

MM = 1e-3
NO_REED = Reed(0.0, 0.0, np.inf, 0.0)


def make_holes(position=(), radius=(), chimney=(), body=(), rim=None, pad=None, gap=None) -> Holes:
    """Holes from sequences [mm]; without pads unless given."""
    zeros = np.zeros(len(position))
    rows = (position, radius, chimney, body, *(zeros if row is None else row for row in (rim, pad, gap)))
    return Holes(*(jnp.asarray(row, float) * MM for row in rows))


def make_duct(points, holes=None, end_wall=0.0, reed=NO_REED, degC=20.0, ratio=SLICE_RATIO, scale=1.0) -> Duct:
    """Duct from bore points [(position, radius)] [mm] and wall [mm]; scale shrinks the radii only."""
    table = np.asarray(points, float) * MM
    bore = Bore(table[:, 0], table[:, 1] * scale)
    duct = Duct(
        bore,
        slice_positions(bore, ratio),
        table[-1, 0],
        end_wall * MM,
        make_holes() if holes is None else holes,
        reed,
        Climate(degC, degC),
    )
    return jax.tree.map(lambda leaf: jnp.asarray(leaf, float), duct)


def slant_cone(r1, r2, length) -> list[tuple[float, float]]:
    """Bore points [mm] of a cone whose length is measured along its wall, as spherical waves count it."""
    return [(0.0, r1), (np.sqrt(length**2 - (r2 - r1) ** 2), r2)]


def cents(f, reference) -> np.ndarray:
    """Interval from reference up to f [cents]."""
    return 1200.0 * np.log2(np.asarray(f) / np.asarray(reference))
