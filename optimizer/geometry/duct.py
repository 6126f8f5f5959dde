"""From millimetres to the acoustic duct: the one place where layouts and saved records become physics."""

from collections.abc import Sequence
from typing import NamedTuple, cast

import numpy as np

from acoustics.arrays import Array, map_arrays
from acoustics.bends import Bends, Tubes
from acoustics.bore import radius_at
from acoustics.duals import Dual
from acoustics.network import Climate, Duct
from acoustics.reed import Reed
from acoustics.toneholes import Holes
from optimizer.geometry.bore_shape import BoreShape
from optimizer.geometry.layout import Layout, top_ratios
from optimizer.geometry.measured_layout import Geometry
from optimizer.project.bends import Bend, tubes_of
from optimizer.project.model import AirState, Project, ReedSection
from optimizer.records.layout import ReedRecord

MM = 1e-3
CM3 = 1e-6


class Fittings(NamedTuple):
    """What surrounds each hole (H,): azimuth [deg], top over bore-end diameter [1], rim of its flat [mm] (0: the round
    body), pad, lift [mm] (0: no pad).

    recess_mm and absorption [1] are the closed pad's, 0 without one.
    """

    azimuth_deg: Array
    top_ratio: Array
    rim_mm: Array
    pad_diameter_mm: Array
    lift_mm: Array
    recess_mm: Array
    absorption: Array


def climate_of(air: AirState) -> Climate:
    """Air along the bore from a project's or record's air table."""
    reach = np.inf if air.warming_length_mm is None else air.warming_length_mm * MM
    return Climate(air.reed_degC, air.bell_degC, air.humidity_percent / 100.0, air.co2_percent / 100.0, reach)


def fittings(at: Geometry) -> Fittings:
    """Fittings of a layout's holes: the rim where they end in a flat, the pad where one closes them."""
    project, pad, shut = at.project, at.pads, at.shut
    return Fittings(
        np.array([hole.azimuth_deg for hole in project.holes]),
        top_ratios(project),
        np.where(at.flat, pad.rim_mm, 0.0),
        np.where(shut, pad.pad_diameter_mm, 0.0),
        np.where(shut, pad.lift_mm, 0.0),
        np.where(shut, project.keywork.pad_recess_mm, 0.0),
        np.where(shut, project.keywork.pad_absorption, 0.0),
    )


def make_duct(
    layout: Layout,
    fitting: Fittings,
    shape: BoreShape,
    reed: ReedSection | ReedRecord,
    climate: Climate,
    bends: Sequence[Bend] = (),
) -> Duct:
    """The duct of a layout (SI); with slopes where the layout has them.

    Parameters
    ----------
    layout : fields (H,) [mm]
    fitting : what surrounds each hole (H,) [mm]
    shape : how its bore follows from it, and its wall
    reed : what stands at the input, its volume aside, which is the layout's
    climate : air along the bore
    bends : where a folded body turns back
    """
    profile, wall = shape.profile(layout), shape.bore.wall_mm * MM
    position = layout.position_mm * MM
    holes = Holes(
        position=position,
        azimuth=np.radians(fitting.azimuth_deg),
        radius=layout.diameter_mm * MM / 2,
        top_radius=layout.diameter_mm * fitting.top_ratio * MM / 2,
        chimney_height=layout.chimney_mm * MM,
        body_radius=radius_at(profile, position) + wall,
        rim_width=fitting.rim_mm * MM,
        pad_radius=fitting.pad_diameter_mm * MM / 2,
        pad_gap=fitting.lift_mm * MM,
        lid_recess=fitting.recess_mm * MM,
        lid_absorption=fitting.absorption,
    )
    lips = Reed(
        layout.reed_volume_cm3 * CM3,
        np.inf if reed.cavity_diameter_mm is None else reed.cavity_diameter_mm * MM / 2,
        reed.compliance_cm3 * CM3,
        np.inf if reed.resonance_hz is None else reed.resonance_hz,
        reed.damping,
    )
    bent, tubes = _folded(bends)
    slices = np.concatenate([shape.slices(layout), bent.begin, bent.end])
    duct = Duct(profile, slices, layout.end_mm * MM, wall, holes, lips, climate, bent, tubes)
    return cast(Duct, map_arrays(_as_floats, duct))


def _folded(bends: Sequence[Bend]) -> tuple[Bends, Tubes]:
    """Bends and tubes as the acoustics take them (SI); none of a straight body."""
    if not bends:
        return Bends(), Tubes()
    bent = Bends(*(np.array(row) * MM for row in zip(*((b.at_mm, b.end_mm, b.radius_mm) for b in bends), strict=True)))
    begin, _, down, depth, front, right = (np.array(row, float) for row in zip(*tubes_of(bends), strict=True))
    return bent, Tubes(begin * MM, depth * MM, down, front * MM, right * MM)


def lined_holes(project: Project) -> np.ndarray:
    """Which holes (H,) of a project are lined tubes: as the stock finishes them, else vents under keys; as
    `build.is_lined` has it of finished ones."""
    told = [hole.finish if project.stock is not None and not hole.locked else None for hole in project.holes]
    vents = [hole.role == "vent" and hole.by == "key" for hole in project.holes]
    return np.array([
        vent if finish in (None, "free") else finish == "tube" for finish, vent in zip(told, vents, strict=True)
    ])  # fmt: skip


def _as_floats(value: Array) -> Array:
    return value if isinstance(value, Dual) else np.asarray(value, float)
