"""Tone holes and vents as a T circuit: series Z_a/2, shunt Z_s, series Z_a/2.

| symbol | code | meaning |
|---|---|---|
| a, b, t | bore_radius, hole_radius, chimney_height | bore and hole radius, chimney from bore crown to top [m] |
| delta | delta | b/a |
| t_m, t_i, t_a | matching_length, inner_length, series_length | length corrections [m] |

| model | source | validity |
|---|---|---|
| matching_length | Nederveen, Jansen & van Hassel 1998 | delta <= 1, within 0.9 % of the exact volume |
| static_inner_length | fit to finite elements within 0.001 b; Nederveen et al. 1998: 0.01 b | delta 0.1 to 1 |
| inner_length, outer length | what they gain toward higher notes: `hole_rises` | k a to 0.4, k R to 0.5 |
| series_length | form of Dubos et al. 1999, refitted to finite elements within 1 % | t/b from 0.1 |
| tapered chimney | cone over height and matching length; finite elements | radii 5.0 to 3.5 mm: 2 cents |
| closed hole | lid that takes heat (Cremer 1948), its recess as a volume, its absorption | recess << radius |
| half-open hole | orifice of the same open area, Fok 1941 (from memory) | area fraction 0 to 1 |
"""

from typing import NamedTuple

import numpy as np

from acoustics.air import Air
from acoustics.arrays import Array
from acoustics.bore import segment_matrix
from acoustics.hole_rises import inner_rise, length_rise, mouth_share
from acoustics.openings import opening_friction, opening_lengths


class Holes(NamedTuple):
    """Tone holes and vents, every field of shape (H,) [m], azimuth [rad], lid_absorption [1].

    radius is at the bore, top_radius at the top of the chimney, which is a straight cone between them. The chimney ends
    in a flat rim_width wide, raised above the body's crown or sunk below it, or, where rim_width is 0, in the round
    body that the hole is drilled into (`openings`). A hole under a key has pad_gap > 0 (from there to the open disk).
    What closes the hole stands lid_recess above the chimney's top (below 0 it bulges in), and absorbs a share of what
    strikes it.
    """

    position: Array
    azimuth: Array
    radius: Array
    top_radius: Array
    chimney_height: Array
    body_radius: Array
    rim_width: Array
    pad_radius: Array
    pad_gap: Array
    lid_recess: Array
    lid_absorption: Array


def matching_length(hole_radius: Array, delta: Array) -> Array:
    """Length [m] of the volume between the hole's cylinder and the curved bore, in broadcast shape.

    Parameters
    ----------
    hole_radius : at the bore [m]
    delta : hole radius over bore radius [1]

    Source: Nederveen et al. 1998, eq. 39.
    """
    return hole_radius * delta / 8.0 * (1.0 + 0.207 * delta**3)


def static_inner_length(hole_radius: Array, delta: Array) -> Array:
    """Inner length correction t_i [m] toward low frequencies: the inertia of the flow bending from bore into hole.

    Parameters
    ----------
    hole_radius : at the bore [m]
    delta : hole radius over bore radius [1]; both of shapes that broadcast

    Source: fit to finite elements, see the table of this module.
    """
    series = 0.8219 + delta * (-0.1684 + delta * (-1.2904 + delta * (1.7218 + delta * (-1.3373 + delta * 0.4136))))
    return hole_radius * series


def inner_length(hole_radius: Array, delta: Array, ka: Array) -> Array:
    """Inner length correction t_i [m] at a frequency, in broadcast shape; see `static_inner_length`, `hole_rises`.

    Parameters
    ----------
    hole_radius : at the bore [m]
    delta : hole radius over bore radius [1]
    ka : wavenumber times bore radius [1]
    """
    return static_inner_length(hole_radius, delta) + inner_rise(hole_radius, delta, ka)


def series_length(hole_radius: Array, delta: Array, chimney_height: Array, openness: Array) -> Array:
    """Series length t_a [m] (negative) in Z_a = j k t_a rho c / (pi a^2), in broadcast shape.

    Parameters
    ----------
    hole_radius : at the bore [m]
    delta : hole radius over bore radius [1]
    chimney_height : from bore crown to top [m]
    openness : 0 closed, 1 open, between: the open share of the hole's area

    A closed hole uses the closed fit; a fully open one the mean of the closed fit and the fit for a pressure-release
    top, which is where radiating holes fall. Source: the form of Dubos et al. 1999, refitted to finite elements.
    """
    b, matching = hole_radius, matching_length(hole_radius, delta)
    closed_height = np.tanh(1.8412 * (chimney_height + 0.975 * matching) / b)
    open_height = np.tanh(1.8412 * (chimney_height + 1.212 * matching) / b)
    closed = 1.0 / ((1.8935 + 0.1018 * delta) / closed_height + 1.4326 - 0.0162 * delta + 0.0831 * delta**2)
    released = 1.0 / ((2.0223 + 0.1951 * delta) * open_height + 1.2969 - 0.0486 * delta + 0.0248 * delta**2)
    share = 0.5 * openness
    return -b * delta**2 * ((1.0 - share) * closed + share * released)


def _fok(ratio: Array) -> Array:
    """End-correction factor of an orifice of radius ratio in a tube; Fok 1941 as given by Melling 1973 (memory)."""
    series = 1.0 - 1.40925 * ratio + 0.33818 * ratio**3 + 0.06793 * ratio**5
    series = series - 0.02287 * ratio**6 + 0.03015 * ratio**7 - 0.01641 * ratio**8
    return np.maximum(series, 0.0)


def lid_admittance(f: Array, holes: Holes, air: Air, lossless: bool = False) -> Array:
    """Admittance [m3/(Pa s)] of a closed lid: volume below it, heat it takes, sound it absorbs.

    Parameters
    ----------
    f : frequency [Hz], of a shape that broadcasts with (H,)
    holes : fields (H,)
    air : state of the air below the lid
    lossless : leave out heat and absorption

    The heat is Cremer's (1948) at normal incidence. A lid that absorbs the share A of the energy striking it has
    the admittance (1 - r)/(1 + r) of that of the air, r^2 = 1 - A.
    """
    area = np.pi * holes.top_radius**2 / (air.rho * air.c)
    volume = 2j * np.pi * f / air.c * holes.lid_recess
    if lossless:
        return area * volume
    layer = np.sqrt(2j * np.pi * f * air.conductivity / (air.rho * air.heat_capacity))
    reflected = np.sqrt(1.0 - holes.lid_absorption)
    return area * (volume + (air.gamma - 1.0) / air.c * layer + (1.0 - reflected) / (1.0 + reflected))


def seat_top(holes: Holes, bore_radius: Array) -> Array:
    """Height (H,) [m] of each chimney's top above the body's crown: of a flat, below 0 where it is sunk into the wall.

    Parameters
    ----------
    holes : fields (H,)
    bore_radius : (H,) at each hole [m]
    """
    return bore_radius + holes.chimney_height - holes.body_radius


def top_admittance(
    f: Array, holes: Holes, bore_radius: Array, openness: Array, air: Air, lossless: bool = False
) -> Array:
    """Admittance [m3/(Pa s)] of the air above each chimney, radiation with pad: 0 when closed.

    Parameters
    ----------
    f : frequency [Hz], of a shape that broadcasts with (H,)
    holes : fields (H,)
    bore_radius : (H,) at each hole [m]
    openness : (H,) 0 closed, 1 open, between: the open share of the hole's area
    air : state of the air above
    lossless : leave out friction

    Sources: see `openings`; a half-open hole is an orifice (Fok 1941).
    """
    some = openness > 0.0
    if not np.any(some):
        return 0.0
    k = 2.0 * np.pi * f / air.c
    share = np.sqrt(np.where(some, openness, 1.0))
    mouth = holes.top_radius * share
    inside = np.pi / 4.0 * mouth * _fok(share)
    top = seat_top(holes, bore_radius)
    bare, extra = opening_lengths(mouth, holes.body_radius, holes.rim_width, top, holes.pad_radius, holes.pad_gap)
    mass = 1j * k * (inside + bare + extra + length_rise(k, mouth, holes.body_radius))
    impedance = air.rho * air.c / (np.pi * mouth**2) * ((k * mouth) ** 2 / 4.0 + mass)
    if not lossless:
        impedance = impedance + opening_friction(f, mouth, extra, holes.pad_gap, air)
    return 1.0 / impedance if np.all(some) else np.where(some, 1.0 / impedance, 0.0)


class Port(NamedTuple):
    """A hole as the bore and the outside see it, every field (H,).

    Attributes
    ----------
    admittance : shunt admittance 1/Z_s with the hole's own radiation [m3/(Pa s)]
    transfer : flow out of the top per pressure in the bore [m3/(Pa s)]; 0 when closed
    gain : pressure in the bore per pressure at the blocked top [1]
    """

    admittance: Array
    transfer: Array
    gain: Array


def hole_ports(f: Array, holes: Holes, bore_radius: Array, openness: Array, air: Air, lossless: bool = False) -> Port:
    """Each hole as a port: its share of the bore's wave, inner length, lossy chimney with its matching length, top.

    Parameters
    ----------
    f : frequency [Hz], of a shape that broadcasts with (H,)
    holes : fields (H,)
    bore_radius : (H,) at each hole [m]
    openness : (H,) 0 closed, 1 open, between: the open share of the hole's area
    air : state of the air at each hole
    lossless : leave out wall losses, and heat and absorption of lids

    With [A B; C D] from bore to top, n the share and Y the admittance at the top: admittance n^2 (C + D Y)/(A + B Y),
    gain A/n, transfer n times the open part of Y over A + B Y: what the closed part of a lid takes up as heat does not
    come out.
    """
    delta = holes.radius / bore_radius
    k = 2.0 * np.pi * f / air.c
    length = holes.chimney_height + matching_length(holes.radius, delta)
    slope = (holes.top_radius - holes.radius) / length
    chimney = segment_matrix(f, holes.radius, length, slope, air, lossless)
    outside = top_admittance(f, holes, bore_radius, openness, air, lossless)
    closed = 1.0 - openness
    top = outside + lid_admittance(f, holes, air, lossless) * closed if np.any(closed) else outside
    inner = 1j * k * inner_length(holes.radius, delta, k * bore_radius) * air.rho * air.c / (np.pi * holes.radius**2)
    gain = chimney.A + inner * chimney.C
    pressure = gain + (chimney.B + inner * chimney.D) * top
    share = mouth_share(k, holes.radius)
    return Port(share**2 * (chimney.C + chimney.D * top) / pressure, share * outside / pressure, gain / share)


def series_impedance(f: Array, holes: Holes, bore_radius: Array, openness: Array, air: Air) -> Array:
    """Series impedance Z_a [Pa s/m3] of each hole; see `series_length`.

    Parameters
    ----------
    f : frequency [Hz], of a shape that broadcasts with (H,)
    holes : fields (H,)
    bore_radius : (H,) at each hole [m]
    openness : (H,) 0 closed, 1 open, between: the open share of the hole's area
    air : state of the air at each hole
    """
    length = series_length(holes.radius, holes.radius / bore_radius, holes.chimney_height, openness)
    return 1j * 2.0 * np.pi * f * air.rho / (np.pi * bore_radius**2) * length
