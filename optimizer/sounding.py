"""From millimetres to the acoustic duct: the one place where layouts and saved records become physics."""

from typing import NamedTuple, cast

import jax
import jax.numpy as jnp
import numpy as np

from acoustics.arrays import Array
from acoustics.bore import Bore, radius_at, slice_positions
from acoustics.network import Climate, Duct
from acoustics.reed import Reed
from acoustics.toneholes import Holes
from optimizer.keywork import pad_sizes
from optimizer.layout import Layout
from optimizer.project import AirState, BoreSection, Project, ReedSection

MM = 1e-3
CM3 = 1e-6


class Closure(NamedTuple):
    """What the air meets above each hole [mm], (H,): flat rim, pad diameter, lift (0: no pad)."""

    rim_mm: Array
    pad_diameter_mm: Array
    lift_mm: Array


def climate_of(air: AirState) -> Climate:
    """Air along the bore from a project's or record's air table."""
    return Climate(air.reed_degC, air.bell_degC, air.humidity_percent / 100.0, air.co2_percent / 100.0)


def closures(layout: Layout, project: Project) -> Closure:
    """Closure of each hole of a layout: pads where a pad closes it, else the bare wall around it."""
    padded = np.array([hole.padded for hole in project.holes])
    pad = pad_sizes(layout.diameter_mm, project.keywork)
    return Closure(
        jnp.where(padded, pad.rim_mm, project.bore.wall_mm),
        jnp.where(padded, pad.pad_diameter_mm, 0.0),
        jnp.where(padded, pad.lift_mm, 0.0),
    )


def make_duct(layout: Layout, azimuth_deg: Array, closure: Closure, bore: BoreSection, reed: ReedSection, climate: Climate) -> Duct:
    """The duct of a layout; differentiable in layout and closure."""
    points = np.array(bore.points_mm) * MM
    profile = Bore(jnp.asarray(points[:, 0]), jnp.asarray(points[:, 1] / 2))
    longest = points.copy()
    last_slope = (points[-1, 1] - points[-2, 1]) / (points[-1, 0] - points[-2, 0])
    longest[-1, 0] = max(bore.end_span_mm[1] * MM, points[-1, 0])
    longest[-1, 1] = points[-2, 1] + last_slope * (longest[-1, 0] - points[-2, 0])
    position = layout.position_mm * MM
    holes = Holes(
        position=position,
        azimuth=jnp.radians(jnp.asarray(azimuth_deg, float)),
        radius=layout.diameter_mm * MM / 2,
        chimney_height=layout.chimney_mm * MM,
        body_radius=radius_at(profile, position) + bore.wall_mm * MM,
        rim_width=closure.rim_mm * MM,
        pad_radius=closure.pad_diameter_mm * MM / 2,
        pad_gap=closure.lift_mm * MM,
    )
    lips = Reed(
        layout.reed_volume_cm3 * CM3,
        jnp.asarray(reed.compliance_cm3 * CM3),
        jnp.asarray(np.inf if reed.resonance_hz is None else reed.resonance_hz),
        jnp.asarray(reed.damping),
    )
    slices = slice_positions(Bore(longest[:, 0], longest[:, 1] / 2))
    duct = Duct(profile, jnp.asarray(slices), layout.end_mm * MM, jnp.asarray(bore.wall_mm * MM), holes, lips, climate)
    return cast(Duct, jax.tree.map(lambda value: jnp.asarray(value, float), duct))
