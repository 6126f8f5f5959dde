"""Above which frequency sound passes the open holes of a layout: `acoustics.lattice`, of holes as they lie."""

import numpy as np

from acoustics.arrays import Array
from acoustics.lattice import local_cutoff
from acoustics.openings import opening_lengths
from acoustics.toneholes import static_inner_length
from optimizer.geometry.duct import fittings
from optimizer.geometry.measured_layout import Geometry

SOUND_SPEED_MM = 345e3
"""For cutoffs as figures, from lengths in millimetres [mm/s]."""


def effective_height_mm(at: Geometry) -> Array:
    """Chimney of each hole (H,) with what both its ends count for [mm]."""
    bore, body = at.bore_radius, at.body_radius
    hole, chimney = 0.5 * at.layout.diameter_mm, at.layout.chimney_mm
    around = at.once(fittings)
    top, pad = 0.5 * at.top_mm, 0.5 * around.pad_diameter_mm
    bare, extra = opening_lengths(top, body, around.rim_mm, bore + chimney - body, pad, around.lift_mm)
    return chimney + static_inner_length(hole, hole / bore) + bare + extra


def hole_cutoffs(at: Geometry, holes: np.ndarray, spacing_mm: Array) -> Array:
    """Local cutoff [Hz] of some holes (L,).

    Parameters
    ----------
    at : the layout
    holes : (L,) their numbers
    spacing_mm : (L,) the stretch of bore that each vents

    Source: `lattice.local_cutoff`.
    """
    hole, height = 0.5 * at.layout.diameter_mm[holes], at.once(effective_height_mm)[holes]
    return local_cutoff(spacing_mm, at.bore_radius[holes], hole, height, SOUND_SPEED_MM)


def pair_cutoffs(at: Geometry, first: np.ndarray, second: np.ndarray) -> Array:
    """Cutoff [Hz] of the lattice that pairs of open holes make (N,).

    Parameters
    ----------
    at : the layout
    first, second : (N,) numbers of the hole nearer the reed and the one nearer the bell

    Both vent the stretch between them, at least as long as the bore is wide, as holes nearer than that act as one:
    the root of the mean square of their local cutoffs, since flow through them adds.
    """
    wide = at.bore_radius[first] + at.bore_radius[second]
    spacing = np.maximum(at.layout.position_mm[second] - at.layout.position_mm[first], wide)
    squares = [hole_cutoffs(at, holes, spacing) ** 2 for holes in (first, second)]
    return np.sqrt(0.5 * (squares[0] + squares[1]))
