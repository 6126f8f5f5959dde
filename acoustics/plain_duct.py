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
SIZES = ("radius", "top_radius", "chimney_height", "body_radius", "rim_width", "pad_radius", "pad_gap")


class PlainDuct:
    """A rigid duct: bore and outer wall as [position, radius] points, holes drilled square through the wall.

    Parameters
    ----------
    bore, outer : points [mm], straight in between; the wall is solid between them and ends blunt at the last point
    holes : mappings with `x` and `r` [mm], `state` "open" or "closed" (a lid in the outer surface), optionally
        `azimuth_deg`; `r_top` [mm] for a tapered chimney, `chimney` [mm] for a raised one; `seat`, a flat round the
        hole, with its radius `r` and the height `top` of it above the bore's axis [mm]; `pad` over an open hole, with
        its `r` and its `gap` above seat or body [mm]
    sound_speed : [m/s]; temperature and losses are those of dry air of that sound speed
    lossless : leave out wall losses

    Raises
    ------
    ValueError
        for a state other than "open" and "closed", a hole outside the duct, or a seat that leaves no rim or no chimney
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
    bore = Bore(np.asarray(inner[:, 0] * MM), np.asarray(inner[:, 1] * MM))
    kelvin_share = (sound_speed / 331.45) ** 2
    theta = 273.15 * (kelvin_share - 1.0)
    duct = Duct(
        bore=bore,
        slices=np.asarray(slice_positions(bore)),
        end_position=np.asarray(inner[-1, 0] * MM),
        end_wall=np.asarray((wall[-1, 1] - inner[-1, 1]) * MM),
        holes=_holes(inner, wall, holes),
        reed=Reed(np.zeros(()), np.asarray(np.inf), np.zeros(()), np.asarray(np.inf), np.zeros(())),
        climate=Climate(theta, theta),
    )
    return as_arrays(duct)


def _holes(inner: Floats, wall: Floats, holes: Sequence[Mapping[str, Any]]) -> Holes:
    position = np.array([hole["x"] for hole in holes], float)
    bore, body = (np.interp(position, line[:, 0], line[:, 1]) for line in (inner, wall))
    rows = [_hole(hole, float(b), float(around)) for hole, b, around in zip(holes, bore, body, strict=True)]
    sizes = dict(zip(SIZES, np.array(rows, float).reshape(-1, len(SIZES)).T * MM, strict=True))
    azimuth, none = np.radians([float(hole.get("azimuth_deg", 0.0)) for hole in holes]), np.zeros(len(holes))
    return Holes(position * MM, azimuth, **sizes, lid_recess=none, lid_absorption=none)


def _hole(hole: Mapping[str, Any], bore: float, body: float) -> tuple[float, ...]:
    """What `SIZES` names [mm]; bore and body are radii."""
    radius, top, seat, pad = hole["r"], hole.get("r_top", hole["r"]), hole.get("seat"), hole.get("pad")
    chimney = seat["top"] - bore if seat else hole.get("chimney", body - bore)
    if chimney <= 0.0 or (seat and seat["r"] <= top):
        raise ValueError(f"a seat must be wider than its hole and stand above the bore, but got {seat} at {hole['x']}")
    if hole["state"] == "closed" and not seat:
        chimney -= float(matching_length(radius, radius / body))
    rim = seat["r"] - top if seat else 0.0
    return radius, top, chimney, body, rim, *((pad["r"], pad["gap"]) if pad else (0.0, 0.0))
