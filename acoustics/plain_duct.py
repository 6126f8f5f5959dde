"""A duct from plain numbers: bore, outer wall and holes as measured, lossless or lossy, to resonances and Z_in.

For comparisons with measurements and with other computations of the same geometry. Positions and radii in millimetres,
as such data usually come; frequencies in hertz.
"""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from acoustics.arrays import Floats
from acoustics.bore import Bore, slice_positions
from acoustics.network import Climate, Duct, air_at, as_arrays
from acoustics.reed import Reed
from acoustics.resonances import Spectrum, spectrum
from acoustics.scan import input_admittance
from acoustics.toneholes import Holes, matching_length

MM = 1e-3


class PlainDuct:
    """A rigid duct: bore and outer wall as [position, radius] points, holes drilled square through the wall.

    Parameters
    ----------
    bore, outer : points [mm], straight in between; the wall is solid between them and ends blunt at the last point
    holes : mappings with `x` and `r` [mm], `state` "open" or "closed" (a lid in the outer surface), optionally `pad`
        with `r` and `gap` [mm] over an open hole, `r_top` [mm] for a tapered chimney, `chimney` [mm] for a raised one
    sound_speed : [m/s]; temperature and losses are those of dry air of that sound speed
    lossless : leave out wall losses

    Raises
    ------
    ValueError
        for a state other than "open" and "closed", or a hole outside the duct
    """

    def __init__(
        self,
        bore: Sequence[Sequence[float]],
        outer: Sequence[Sequence[float]],
        holes: Sequence[Mapping[str, Any]] = (),
        sound_speed: float = 343.2,
        lossless: bool = False,
    ) -> None:
        inner, wall = np.asarray(bore, float), np.asarray(outer, float)
        for hole in holes:
            if hole["state"] not in ("open", "closed"):
                raise ValueError(f"a hole's state must be 'open' or 'closed', but got {hole['state']!r}")
            if not inner[0, 0] < hole["x"] < inner[-1, 0]:
                raise ValueError(f"a hole must lie inside the duct, but got one at {hole['x']}")
        self.lossless = lossless
        self.openness = np.array([[hole["state"] == "open" for hole in holes]], float).reshape(1, -1)
        self.duct = _duct(inner, wall, holes, sound_speed)

    def resonances(self, f_low: float = 20.0, f_high: float = 4000.0) -> Spectrum:
        """Impedance maxima (upward zeros of Im Y) between f_low and f_high [Hz]; see `resonances.Spectrum`."""
        return spectrum(self.duct, self.openness, f_low, f_high, lossless=self.lossless)[0]

    def input_impedance(self, f: Sequence[float]) -> Floats:
        """Z_in over rho c / S of the input at f (F,) [Hz]: complex (F,)."""
        admittance = input_admittance(self.duct, self.openness[0], np.asarray(f, float), self.lossless)
        entry = air_at(self.duct, np.zeros(1))
        plane = float(entry.rho[0] * entry.c[0]) / (np.pi * float(self.duct.bore.radius[0]) ** 2)
        return np.asarray(1.0 / admittance / plane)


def _duct(inner: Floats, wall: Floats, holes: Sequence[Mapping[str, Any]], sound_speed: float) -> Duct:
    position = np.array([hole["x"] for hole in holes], float)
    radius = np.array([hole["r"] for hole in holes], float)
    body = np.interp(position, wall[:, 0], wall[:, 1])
    drilled = body - np.interp(position, inner[:, 0], inner[:, 1])
    chimney = np.array([hole.get("chimney", deep) for hole, deep in zip(holes, drilled, strict=True)], float)
    closed = np.array([hole["state"] == "closed" for hole in holes], bool)
    lid = np.asarray(matching_length(radius, radius / np.maximum(body, 1e-9))) if len(holes) else radius
    pads = [hole.get("pad") or {} for hole in holes]
    bore = Bore(np.asarray(inner[:, 0] * MM), np.asarray(inner[:, 1] * MM))
    kelvin_share = (sound_speed / 331.45) ** 2
    theta = 273.15 * (kelvin_share - 1.0)
    duct = Duct(
        bore=bore,
        slices=np.asarray(slice_positions(bore)),
        end_position=np.asarray(inner[-1, 0] * MM),
        end_wall=np.asarray((wall[-1, 1] - inner[-1, 1]) * MM),
        holes=Holes(
            position=position * MM,
            azimuth=np.zeros(len(holes)),
            radius=radius * MM,
            top_radius=np.array([hole.get("r_top", hole["r"]) for hole in holes], float) * MM,
            chimney_height=np.where(closed, chimney - lid, chimney) * MM,
            body_radius=body * MM,
            rim_width=drilled * MM,
            pad_radius=np.array([pad.get("r", 0.0) for pad in pads], float) * MM,
            pad_gap=np.array([pad.get("gap", 0.0) for pad in pads], float) * MM,
            lid_recess=np.zeros(len(holes)),
            lid_absorption=np.zeros(len(holes)),
        ),
        reed=Reed(np.zeros(()), np.asarray(np.inf), np.zeros(()), np.asarray(np.inf), np.zeros(())),
        climate=Climate(theta, theta),
    )
    return as_arrays(duct)
