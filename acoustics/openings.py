"""Outer lengths of open tone holes as they are made: drilled into a round body, or through a flat seat; with pads.

| kind | what | length from |
|---|---|---|
| saddle | hole drilled into the round body | the body's crown |
| flat | hole through a flat, raised above the body's crown or sunk below it | the flat |

Each may lie under a flat, rigid, coaxial pad, which adds to the length. Hole radius b, body radius R; the formulas
against the finite elements of Laplace's equation that they are fitted to (`tests/reference/openings`):

| kind | range | largest miss, rms |
|---|---|---|
| saddle | b/R 0.05 to 0.7 | 0.003 b, 0.0015 b |
| pad over it | radius 1.1 b to 2 b, gap from 0.35 b | 0.009 b, 0.003 b |
| | gap 0.2 b to 0.35 b | 0.016 b, 0.006 b |
| flat | b/R to 0.7, rim 0.1 b to 0.8 b and within the body, top -0.3 b to 1.5 b | 0.007 b, 0.0025 b |
| pad over it | radius from the rim's edge to 2 b, over a sunk flat its edge; gap from 0.35 b | 0.016 b, 0.005 b |
| | gap 0.2 b to 0.35 b | 0.019 b, 0.008 b |
| friction | flat; saddle | 18 %, 6 %; 44 %, 11 % |

The shapes are in hole radii: `ratio` b/R, `edge` radius of the flat, `height` of the flat above the body's crown, `pad`
radius, `gap`.
"""

from typing import NamedTuple

import numpy as np

from acoustics.air import Air
from acoustics.arrays import Array
from acoustics.radiation import FLANGED_LENGTH, flanged_length


class Saddle(NamedTuple):
    """Constants of a hole drilled into a round body; exponents unless said otherwise.

    bend, bend_by, bend_more : what the body's roundness takes off the flanged length: factor, exponent, factor
    turn, turn_fall : length of the turn under the pad, times the gap there, which the body's roundness widens: factor
    near, near_pad, near_body : what divides the slit's length while the gap is narrow: factor, of the pad, of the body
    far, far_pad, far_body : the same, times the gap squared
    """

    bend: float
    bend_by: float
    bend_more: float
    turn: float
    turn_fall: float
    near: float
    near_pad: float
    near_body: float
    far: float
    far_pad: float
    far_body: float


class Flat(NamedTuple):
    """Constants of a hole in a flat seat; as in `Saddle` where names agree.

    image, round, round_by, round_top : how the body's share in the length falls with the seat's height and the body's
        roundness: factor, factor, exponent, factor of the height
    sunk, sunk_edge : what a sunk flat's wall adds: factor of the depth, exponent of its edge
    room : how fast the air below a pad that reaches beyond the seat opens up
    floor, wall : what the body below the slit's end adds under a pad, and what a sunk flat's wall does
    near_edge, near_over, near_over_share, far_edge, far_over, far_share : exponents of the flat's edge, of the pad over
        it, of that times the body's share, and of the body's share
    """

    image: float
    round: float
    round_by: float
    round_top: float
    sunk: float
    sunk_edge: float
    turn: float
    room: float
    floor: float
    wall: float
    near: float
    near_edge: float
    near_over: float
    near_over_share: float
    far: float
    far_edge: float
    far_over: float
    far_share: float


SADDLE = Saddle(0.36344, 0.74459, 0.16747, 0.17706, 0.09599, 1.50226, -0.16123, 0.8758, 1.85683, -0.46604, 0.94533)
FLAT = Flat(
    1.20094, 2.85086, 1.04845, 5.0785, 0.74832, -3.14423,
    0.1565, 1.41379, 0.1448, 0.81772, 1.61145, -0.24065, 0.07315, -0.24116, 4.84715, -1.26365, -0.8542, -0.23841,
)  # fmt: skip
HEIGHT_BLEND = 0.05
"""Over about this height [b] a raised flat passes smoothly into a sunk one."""
SUNK_MOST = 0.95
"""A pad's gap counts as no more of the way out of a sunk flat than this share of its depth."""


def saddle_shape(ratio: Array, k: Saddle = SADDLE) -> Array:
    """Outer length [b] of a hole drilled into a round body, from its crown; ratios, all of one shape."""
    return FLANGED_LENGTH - k.bend * ratio**k.bend_by - k.bend_more * ratio**2


def saddle_pad_shape(ratio: Array, pad: Array, gap: Array, k: Saddle = SADDLE) -> Array:
    """What a flat pad over it adds [b]: the slit widens to the sides, by ratio r^2 / 4 on the mean at
    radius r. Arguments are of one shape."""
    fall = 0.25 * ratio
    slit = k.turn / (gap + k.turn_fall * ratio) + np.log(pad**2 * (gap + fall) / (gap + fall * pad**2)) / (4.0 * gap)
    near = k.near * pad**k.near_pad * np.exp(k.near_body * ratio)
    far = k.far * pad**k.far_pad * np.exp(k.far_body * ratio)
    return slit / (near + far * gap**2)


def _body_share(ratio: Array, edge: Array, height: Array, k: Flat) -> tuple[Array, Array, Array]:
    """The body's share [1] in the length of a hole in a flat, with the flat's height above and depth below the body."""
    level = height + 0.25 * ratio * edge**2
    raised = 0.5 * (level + np.sqrt(level**2 + HEIGHT_BLEND**2))
    flange = FLANGED_LENGTH - flanged_length(1.0, edge)
    round_body = k.round * (ratio * (edge + k.round_top * raised)) ** k.round_by
    return 1.0 / (1.0 + k.image * 8.0 * flange * raised + round_body), raised, raised - level


def flat_shape(ratio: Array, edge: Array, height: Array, k: Flat = FLAT) -> Array:
    """Outer length [b] of a hole in a flat seat, from its top; ratios, all of one shape.

    High above the body it is that of a pipe end with a rim. The body comes in as the hole's mirror image, which adds
    1 / (8 height) over a plane, less over a round body; the wall around a sunk flat lengthens the hole.
    """
    share, _, sunk = _body_share(ratio, edge, height, k)
    rim = flanged_length(1.0, edge)
    return rim + (FLANGED_LENGTH - rim) * share + k.sunk * sunk * edge**k.sunk_edge


def flat_pad_shape(ratio: Array, edge: Array, height: Array, pad: Array, gap: Array, k: Flat = FLAT) -> Array:
    """What a flat pad over it adds [b]: a slit to the seat's edge, a wider one from there to the pad's.

    Arguments are of one shape.
    """
    share, raised, sunk = _body_share(ratio, edge, height, k)
    within, over = np.minimum(edge, pad), np.maximum(pad / edge, 1.0)
    room = k.room * edge * (over - 1.0)
    beyond = gap + room * raised / (room + raised)
    slit = k.turn / gap + np.log(within) / (2.0 * gap) + np.log(over) / (2.0 * beyond)
    end = k.floor / (1.0 + raised / gap) - k.wall * np.log(1.0 - np.minimum(sunk / gap, SUNK_MOST))
    near = k.near * edge**k.near_edge * np.exp((k.near_over + k.near_over_share * share) * np.log(over))
    far = k.far * edge**k.far_edge * over**k.far_over * np.exp(k.far_share * share)
    return (slit + end / edge) / (near + far * gap**2)


def saddle_length(hole_radius: Array, body_radius: Array) -> Array:
    """Outer length [m] of an open hole drilled into a round body, from the body's crown.

    Parameters
    ----------
    hole_radius, body_radius : hole b and body R [m], all of one shape

    Range and error: as the module says, for b/R of 0.05 to 0.7.
    """
    return hole_radius * saddle_shape(hole_radius / body_radius)


def saddle_pad_length(hole_radius: Array, body_radius: Array, pad_radius: Array, gap: Array) -> Array:
    """Extra outer length [m] of an open hole in a round body under a flat, rigid, coaxial pad.

    Parameters
    ----------
    hole_radius, body_radius, pad_radius : hole b, body, pad, the pad 1.1 b to 2 b [m], all of one shape
    gap : distance from the body's crown to the pad, from 0.2 b [m]; gap <= 0 means no pad, and the length is 0
    """
    b, there, h, pad = _pad_over(hole_radius, pad_radius, gap)
    return np.where(there, b * saddle_pad_shape(b / body_radius, pad, h), 0.0)


def flat_length(hole_radius: Array, body_radius: Array, rim_width: Array, seat_top: Array) -> Array:
    """Outer length [m] of an open hole in a flat on a round body, from the flat's top.

    Parameters
    ----------
    hole_radius, body_radius : hole b and body R [m], all of one shape
    rim_width : of the flat around the hole, 0.1 b to 0.8 b, hole and rim together no wider than the body [m]
    seat_top : height of the flat above the body's crown, 1.5 b to -0.3 b: below 0 it is sunk [m]
    """
    b = hole_radius
    return b * flat_shape(b / body_radius, 1.0 + rim_width / b, seat_top / b)


def flat_pad_length(
    hole_radius: Array, body_radius: Array, rim_width: Array, seat_top: Array, pad_radius: Array, gap: Array
) -> Array:
    """Extra outer length [m] of an open hole in a flat under a flat, rigid, coaxial pad.

    Parameters
    ----------
    hole_radius, body_radius, rim_width, seat_top : as in `flat_length` [m], all of one shape
    pad_radius : from the flat's edge to 2 b; over a sunk flat its edge [m]
    gap : distance from the flat to the pad, from 0.2 b [m]; gap <= 0 means no pad, and the length is 0
    """
    b, there, h, pad = _pad_over(hole_radius, pad_radius, gap)
    return np.where(there, b * flat_pad_shape(b / body_radius, 1.0 + rim_width / b, seat_top / b, pad, h), 0.0)


def opening_lengths(
    hole_radius: Array, body_radius: Array, rim_width: Array, seat_top: Array, pad_radius: Array, gap: Array
) -> tuple[Array, Array]:
    """Outer length [m] of an open hole as it is made, in a flat where it has a rim, else in a saddle; what a pad adds.

    Parameters
    ----------
    hole_radius, body_radius : hole b and body R [m], all of one shape
    rim_width : of the flat around the hole [m]; rim_width <= 0 means that the hole is drilled into the round body
    seat_top : height of the flat above the body's crown [m], without meaning for a saddle
    pad_radius, gap : of the pad, and how far it stands above flat or crown [m]; gap <= 0 means no pad
    """
    flat, sizes = rim_width > 0.0, (hole_radius, body_radius, rim_width, seat_top)
    in_body = saddle_length(hole_radius, body_radius), saddle_pad_length(hole_radius, body_radius, pad_radius, gap)
    return (
        np.where(flat, flat_length(*sizes), in_body[0]),
        np.where(flat, flat_pad_length(*sizes, pad_radius, gap), in_body[1]),
    )


def _pad_over(hole_radius: Array, pad_radius: Array, gap: Array) -> tuple[Array, Array, Array, Array]:
    """Hole radius [m], whether there is a pad, and its gap and radius [b], 1 where there is none."""
    there = gap > 0.0
    return hole_radius, there, np.where(there, gap / hole_radius, 1.0), np.where(there, pad_radius / hole_radius, 1.0)


def opening_friction(f: Array, hole_radius: Array, pad_extra: Array, gap: Array, air: Air) -> Array:
    """Impedance [Pa s/m3] that friction adds to an opening: along the walls of hole and seat, and under the pad.

    Parameters
    ----------
    f, hole_radius : [Hz], [m], all of one shape
    pad_extra : what the pad adds to the outer length [m]
    gap : below the pad [m]; gap <= 0 means no pad
    air : state of the air

    The square of the speed along the walls, from the same finite elements, is 1.7 + (1.6 b/gap + 4.8) pad_extra/b times
    that in the hole, per hole area (flats within 18 %, rms 6 %; saddles within 44 %, rms 11 %): under a pad nearly as
    in a slit as long as what the pad adds. There the boundary layers may meet: the impedance is that of Zwikker &
    Kosten, *Sound Absorbing Materials* (1949), 1/(1 - F) with F = tanh(x)/x, x = gap / (2 layer).
    """
    inertia = 2j * np.pi * f * air.rho
    layer = np.sqrt(air.viscosity / inertia)
    slit = np.where(gap > 0.0, gap, hole_radius) / layer
    met = np.exp(-slit)
    share = 2.0 * (1.0 - met) / (slit * (1.0 + met))
    length = layer * (1.7 + 4.8 * pad_extra / hole_radius) + 0.8 * pad_extra * share / (1.0 - share)
    return inertia * length / (np.pi * hole_radius**2)
