"""How far a key gives under the finger: twist of its axle, bending of its arms; how far its axle sags between
posts. Newtons, millimetres, MPa = N/mm2.

Linear elasticity of slender parts; posts and pads count as rigid, the pad as held by its seat. Sources, from memory:
Gere & Timoshenko, *Mechanics of Materials*: torsion of circular bars (T L / G J, J = pi (D^4 - d^4) / 32), deflection
of a cantilever with a load at its end (F L^3 / 3 E I, I = w h^3 / 12), of a beam on two supports with a load in its
middle (F L^3 / 48 E I, I = pi (D^4 - d^4) / 64 of a round bar), G = E / 2 (1 + nu).
"""

from math import pi
from typing import NamedTuple

from acoustics.arrays import Array


class Stock(NamedTuple):
    """A round bar or tube: outer and inner diameter [mm] (inner 0 for a bar), Young's modulus [MPa], Poisson ratio."""

    outer_mm: float
    inner_mm: float
    modulus_mpa: float
    poisson: float

    @property
    def polar_mm4(self) -> float:
        """Polar second moment of area [mm4]."""
        return pi * (self.outer_mm**4 - self.inner_mm**4) / 32.0

    @property
    def shear_mpa(self) -> float:
        """Shear modulus [MPa]."""
        return self.modulus_mpa / (2.0 * (1.0 + self.poisson))

    @property
    def bending_n_mm2(self) -> float:
        """Stiffness against bending, E I [N mm2]; I is half the polar moment."""
        return 0.5 * self.modulus_mpa * self.polar_mm4


class Arm(NamedTuple):
    """Cross-section of a key's arms [mm], height along the force, and their modulus [MPa]."""

    width_mm: float
    height_mm: float
    modulus_mpa: float


def twist_rad(torque: Array, length_mm: Array, stock: Stock) -> Array:
    """Angle [rad] by which a stretch of stock twists, in broadcast shape.

    Parameters
    ----------
    torque : on it [N mm]
    length_mm : of the stretch [mm]
    stock : what it is made of
    """
    return torque * length_mm / (stock.shear_mpa * stock.polar_mm4)


def bending_mm(force: Array | float, length_mm: Array, width_mm: float, height_mm: float, modulus_mpa: float) -> Array:
    """Deflection [mm] of a rectangular arm's end, in broadcast shape.

    Parameters
    ----------
    force : at its end [N]
    length_mm : of the arm [mm]
    width_mm, height_mm : of its cross-section, height along the force [mm]
    modulus_mpa : Young's, of what it is made of [MPa]
    """
    return 4.0 * force * length_mm**3 / (modulus_mpa * width_mm * height_mm**3)


def span_of_sag_mm(force: float, sag: float, stock: Stock) -> float:
    """Stretch of stock [mm] between two posts that sags so much under a force [N] in its middle."""
    return float((48.0 * stock.bending_n_mm2 * sag / force) ** (1.0 / 3.0))


def pad_gives_mm(force: float, touch_arm: Array, pad_arm: Array, axle: Array, stock: Stock, arm: Arm) -> Array:
    """How far the pad lags behind its touch [mm], in broadcast shape: what the finger loses, counted at the pad.

    Twist turns the pad's arm; either arm bends by the cube of its length, the touch's under the finger's force, which
    shows at the pad by the ratio of the arms, the pad's under that force by the same ratio: a b^2 and b a^2 in all.

    Parameters
    ----------
    force : of the finger on the touch [N]
    touch_arm, pad_arm : from axle to touch and to pad [mm]
    axle : stretch between them that is twisted [mm]
    stock : what the axle is made of
    arm : cross-section of both arms
    """
    twisted = axle * twist_rad(1.0, 1.0, stock)
    bent = (touch_arm + pad_arm) * bending_mm(1.0, 1.0, *arm)
    return touch_arm * pad_arm * (twisted + bent) * force
