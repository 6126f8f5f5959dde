"""Bore profile and its transfer matrices: cylinders, cones and steps.

A bore is a list of points (s, radius) joined by straight lines; two points at one s make a step. Transfer matrices
relate (p, U) at the reed side to (p, U) at the bell side of a segment.

Source: spherical waves in a lossy cone, Chaigne & Kergomard 2016, section 7.6, with the losses of the mid radius.
Lengths are mean distances from the apex over the cross-section, half-way between axis and wall: against finite
elements that is right within 0.05 cent where axis and wall lengths err by 0.15 cent to either side. A bent crook counts
as its centre line, which neglects that a bend is slightly shorter to the wave than its axis. Validity: half angle below
about 10 degrees; a segment that widens by at most `SLICE_RATIO` keeps the loss error below 0.03 cent.
"""

from typing import NamedTuple

import numpy as np

from acoustics.air import Air
from acoustics.arrays import Array
from acoustics.duals import value_of
from acoustics.losses import propagation

SLICE_RATIO = 1.2
STEP_REACH = 1e-7
STEP_LEAST = 1e-4
VALIDITY = "half angle below 10 degrees"


class Bore(NamedTuple):
    """Bore profile: position (K,) [m] not decreasing, radius (K,) [m]."""

    position: Array
    radius: Array


class Matrix(NamedTuple):
    """Transfer matrix of a two-port: p1 = A p2 + B U2, U1 = C p2 + D U2."""

    A: Array
    B: Array
    C: Array
    D: Array


def interval_of(bore: Bore, s: Array) -> np.ndarray:
    """Number of the interval between two bore points that each place lies in, of the shape of s; one that is no step.

    Parameters
    ----------
    bore : (K,) points, or a batch (B, K)
    s : positions [m], of any shape; (B, any) of a batch
    """
    points, places = value_of(bore.position), value_of(s)
    if points.ndim == 1:
        found = np.searchsorted(points, places, side="right")
    else:
        found = np.sum(points[..., None, :] <= places[..., :, None], axis=-1)
    clipped: np.ndarray = np.clip(found - 1, 0, points.shape[-1] - 2)
    return clipped


def interval_line(bore: Bore, s: Array) -> tuple[Array, Array, Array]:
    """Straight line of the bore at each place: start position [m], start radius [m], slope [1], each of the shape of s.

    Before the first and beyond the last point the nearest line goes on.

    Parameters
    ----------
    bore : (K,) points, or a batch (B, K)
    s : positions [m], of any shape; (B, any) of a batch
    """
    index = interval_of(bore, s)
    start, radius = _picked(bore.position, index), _picked(bore.radius, index)
    length, rise = _picked(bore.position, index + 1) - start, _picked(bore.radius, index + 1) - radius
    slope = np.where(length > 0.0, rise / np.where(length > 0.0, length, 1.0), 0.0)
    return start, radius, slope


def _picked(row: Array, index: np.ndarray) -> Array:
    return row[index] if row.ndim == 1 else np.take_along_axis(row, index, axis=-1)


def radius_at(bore: Bore, s: Array) -> Array:
    """Bore radius [m] at positions, of the shape of s; see `interval_line`.

    Parameters
    ----------
    bore : (K,) points, or a batch (B, K)
    s : positions [m], of any shape; (B, any) of a batch
    """
    start, radius, slope = interval_line(bore, s)
    return radius + slope * (s - start)


def slice_positions(bore: Bore, ratio: float = SLICE_RATIO) -> np.ndarray:
    """Where to cut a bore into slices (S,) [m]: at all its points, and between them.

    Parameters
    ----------
    bore : (K,) points
    ratio : most that a slice may widen or narrow, radius over radius [1]
    """
    position, radius = np.asarray(bore.position, float), np.asarray(bore.radius, float)
    cuts = [position[:1]]
    for s0, s1, r0, r1 in zip(position, position[1:], radius, radius[1:], strict=False):
        if s1 > s0:
            count = max(1, int(np.ceil(abs(np.log(r1 / r0)) / np.log(ratio))))
            radii = r0 * (r1 / r0) ** (np.arange(1, count + 1) / count)
            share = (radii - r0) / (r1 - r0) if r1 != r0 else np.arange(1, count + 1) / count
            cuts.append(s0 + share * (s1 - s0))
    return np.concatenate(cuts)


def segment_matrix(f: Array, r1: Array, length: Array, slope: Array, air: Air, lossless: bool = False) -> Matrix:
    """Transfer matrix of a straight-walled segment, in broadcast shape.

    Slope 0 is a cylinder, length 0 the identity. Written without the apex distance, so that no case divides by zero.

    Parameters
    ----------
    f : frequency [Hz]
    r1 : radius at the reed side [m]
    length : along the axis [m]
    slope : dr/ds [1]
    air : state of the air in it; all of shapes that broadcast
    lossless : drop the wall losses

    Source and validity: module docstring.
    """
    r2 = r1 + slope * length
    stretch = np.sqrt(1.0 + 0.5 * slope**2)
    mid = 0.5 * (r1 + r2)
    gamma, z_mid = propagation(f, mid, air, lossless)
    z1 = z_mid * (mid / r1) ** 2
    grown = np.exp(gamma * (length * stretch))
    shrunk = 1.0 / grown
    cosh, sinh = 0.5 * (grown + shrunk), 0.5 * (grown - shrunk)
    growth = r2 / r1
    u = slope / (stretch * r1) / gamma
    return Matrix(
        A=growth * cosh - u * sinh,
        B=z1 * sinh / growth,
        C=(growth * sinh + (growth - 1.0) * u * cosh - u * u * sinh) / z1,
        D=(cosh + u * sinh) / growth,
    )


def step_inertance(bore: Bore, s: Array, air: Air) -> Array:
    """Inertance [Pa s2/m3] of the bore's steps at positions, 0 where there is none, of the shape of s.

    Parameters
    ----------
    bore : (K,) points, or a batch (B, K)
    s : positions [m], of any shape; (B, any) of a batch
    air : state of the air there

    rho / (pi r) (1 - q)^2 (0.8217 - 0.54 ln(1 - q)) with r the smaller radius and q small over large: a fit to matched
    modes of both sides (within 0.002 r for q from 0.3 to 0.9) whose limit is the flanged end correction. Validity:
    plane waves on both sides.
    """
    sides = radius_at(bore, s - STEP_REACH), radius_at(bore, s + STEP_REACH)
    small, large = np.minimum(*sides), np.maximum(*sides)
    ratio = small / large
    gap = np.maximum(1.0 - ratio, STEP_LEAST)
    factor = gap**2 * (0.8217 - 0.54 * np.log(gap)) / np.pi
    return np.where(ratio < 1.0 - STEP_LEAST, air.rho * factor / small, 0.0)
