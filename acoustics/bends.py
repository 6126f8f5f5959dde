"""Bends of the bore, and the tubes of a folded body as the sound outside finds them.

In a bend the slow air flows faster at the inner side, its speed as one over the distance from the bend's axis, and so
has less inertance than in a straight tube as long as the centre line; its compliance, by the volume, stays. With B the
bore's radius over the bend's, the ratio of the two inertances is

    (B^2 / 2) / (1 - sqrt(1 - B^2)) = (1 + sqrt(1 - B^2)) / 2,

from the integral of 1 / (R + x) over the circle, 2 pi (R - sqrt(R^2 - r^2)). A tube narrower in length and wider in
radius has the same two: length times the ratio's root, radius over its fourth root, and the taper with them.

Sources: the inertance of a toroidal bend, C. J. Nederveen, *Acoustical Aspects of Woodwind Instruments* (1998);
S. Felix, J.-P. Dalmont and C. J. Nederveen, J. Acoust. Soc. Am. 131, 4164 (2012); both from memory. The ratio is
derived above and checked against the integral. Validity: `BEND_RANGE`, wavelengths long against the bore, and bends
long against it, as the flow needs about a bore radius at either end to turn; friction is that of the straight tube.
"""

from typing import NamedTuple

import numpy as np

from acoustics.arrays import Array
from acoustics.duals import value_of

BEND_RANGE = (0.0, 0.7)
"""Bore radius over bend radius [1] up to which a bend is sure; beyond it the ends count for ever more."""

_NONE = np.zeros(0)


class Bends(NamedTuple):
    """Bends of the bore (B,) [m]: where each begins and ends along the centre line, and the radius of that."""

    begin: Array = _NONE
    end: Array = _NONE
    radius: Array = _NONE


class Tubes(NamedTuple):
    """Straight tubes of a folded body (T,), none of a straight one: where each begins along the centre line, how deep
    that is, 1 where it runs down and -1 where it runs up, and its axis toward the front and the right [m]."""

    begin: Array = _NONE
    depth: Array = _NONE
    down: Array = _NONE
    front: Array = _NONE
    right: Array = _NONE


def inertance_ratio(share: Array) -> Array:
    """Inertance of a bend over that of a straight tube as long as its centre line [1], of the shape of share.

    Parameters
    ----------
    share : bore radius over bend radius [1], from 0 below 1

    Source and validity: module docstring.
    """
    return 0.5 * (1.0 + np.sqrt(1.0 - share * share))


def straightened(bends: Bends, place: Array, radius: Array, length: Array, slope: Array) -> tuple[Array, Array, Array]:
    """Straight pieces of bore (M,) that sound like pieces of the same numbers on their bends: radius at the reed side
    [m], length [m], slope [1]. What lies on no bend stays as it is.

    Parameters
    ----------
    bends : of the bore, or of a batch (B, ...)
    place : (M,) middles of the pieces along the centre line [m]; (B, M) of a batch
    radius, length, slope : of each piece, at its reed side [m], along the axis [m], dr/ds [1]
    """
    begin, end = (value_of(item)[..., None, :] for item in bends[:2])
    inside = (begin < value_of(place)[..., None]) & (value_of(place)[..., None] < end)
    on_bend = inside.any(axis=-1)
    around = np.sum(np.where(inside, bends.radius[..., None, :], 0.0), axis=-1)
    middle = radius + 0.5 * slope * length
    ratio = inertance_ratio(np.where(on_bend, middle, 0.0) / np.where(on_bend, around, 1.0))
    root = np.sqrt(ratio)
    wider = np.sqrt(root)
    found = (radius / wider, length * root, slope / (root * wider))
    return tuple(np.where(on_bend, new, old) for new, old in zip(found, (radius, length, slope), strict=True))


def laid(tubes: Tubes, position: Array) -> tuple[Array, Array, Array]:
    """Where openings lie: depth, and their tube's axis toward the front and the right [m], of the shape of position.

    Parameters
    ----------
    tubes : of the body, or of a batch (B, ...); none of a straight one
    position : along the centre line [m], (P,); (B, P) of a batch
    """
    zero = 0.0 * position
    if tubes.begin.shape[-1] == 0:
        return position, zero, zero
    begins = value_of(tubes.begin)
    which = np.sum(value_of(position)[..., None] >= begins[..., None, :], axis=-1) - 1
    begin, depth, down, front, right = (
        row[which] if row.ndim == 1 else np.take_along_axis(row, which, axis=-1) for row in tubes
    )
    return down * (position - begin) + depth, front + zero, right + zero
