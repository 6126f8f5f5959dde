"""Builders of ducts for the tests; lengths in millimetres.

All ducts get the same array shapes, so that the chain is compiled once: the last line of the bore is cut into collinear
pieces, slices beyond the end are ignored by the chain, and missing holes become closed specks at the input of
a ten-thousandth of its radius. `padded=False` leaves all that out.
"""

import jax
import jax.numpy as jnp
import numpy as np

from acoustics.bore import SLICE_RATIO, Bore, slice_positions
from acoustics.network import Climate, Duct
from acoustics.reed import Reed
from acoustics.toneholes import Holes

MM = 1e-3
NO_REED = Reed(0.0, np.inf, 0.0, np.inf, 0.0)
POINTS, SLICES, HOLES = 5, 64, 4


def make_holes(
    position=(), radius=(), chimney=(), body=(), rim=None, pad=None, gap=None, top=None, recess=None
) -> Holes:
    """Holes in line from sequences [mm]; straight and without pads unless given."""
    zeros = np.zeros(len(position))
    top = radius if top is None else top
    given = (zeros if row is None else row for row in (rim, pad, gap, recess))
    rows = (position, zeros, radius, top, chimney, body, *given, zeros)
    return Holes(*(jnp.asarray(row, float) * MM for row in rows))


def with_specks(holes: Holes, bore: Bore) -> Holes:
    """The holes, filled up with closed specks at the input, where they make no cut."""
    count = HOLES - holes.position.size
    speck = 1e-4 * bore.radius[0]
    fill = Holes(0.0, 0.0, speck, speck, speck, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    return jax.tree.map(lambda row, value: jnp.concatenate([row, jnp.full(count, value)]), holes, fill)


def make_duct(points, holes=None, end_wall=0.0, reed=NO_REED, degC=20.0, ratio=SLICE_RATIO, scale=1.0, padded=True):
    """Duct from bore points [(position, radius)] [mm] and wall [mm]; scale shrinks the bore's radii only."""
    table = np.asarray(points, float) * MM
    bore = Bore(table[:, 0], table[:, 1] * scale)
    slices = slice_positions(bore, ratio)
    holes = make_holes() if holes is None else holes
    if padded:
        share = np.linspace(0.0, 1.0, POINTS - len(table) + 2)[1:-1, None]
        table = np.vstack([table[:-1], table[-2] + share * (table[-1] - table[-2]), table[-1:]])
        bore = Bore(table[:, 0], table[:, 1] * scale)
        slices = np.append(slices, np.full(SLICES - slices.size, table[-1, 0] + 1.0))
        holes = with_specks(holes, bore)
    duct = Duct(bore, slices, table[-1, 0], end_wall * MM, holes, reed, Climate(degC, degC))
    return jax.tree.map(lambda leaf: jnp.asarray(leaf, float), duct)


def full_state(state) -> np.ndarray:
    """Openness of the holes and the closed specks, one row."""
    return np.append(np.asarray(state, float), np.zeros(HOLES - len(state)))


def axial_length(r1, r2, length) -> float:
    """Axial length of a cone whose length is given as the mean over its cross-section, as the chain counts it."""
    return np.sqrt(length**2 - 0.5 * (r2 - r1) ** 2)


def apex_cone(r1, r2, length) -> list[tuple[float, float]]:
    """Bore points [mm] of a cone whose length is measured from the apex, as spherical waves count it."""
    return [(0.0, r1), (axial_length(r1, r2, length), r2)]


def cents(f, reference) -> np.ndarray:
    """Interval from reference up to f [cents]."""
    return 1200.0 * np.log2(np.asarray(f) / np.asarray(reference))
