"""Ducts drawn at random, of every kind the network knows, each with a chart; nothing in them is zero by accident."""

import numpy as np

from acoustics.bends import Bends, Tubes
from acoustics.bore import Bore, slice_positions
from acoustics.network import Climate, Duct, as_arrays
from acoustics.reed import Reed
from acoustics.toneholes import Holes

COUNTS = (0, 1, 2, 5, 9, 14)


def random_bore(dice) -> Bore:
    """A cylinder, a cone or a few pieces; every other one with a step up and one down."""
    count = int(dice.integers(2, 6))
    position = np.concatenate([[0.0], np.cumsum(dice.uniform(0.04, 0.2, count))])
    radius = dice.uniform(2e-3, 8e-3) * np.cumprod(np.concatenate([[1.0], dice.uniform(0.97, 1.5, count)]))
    if dice.uniform() < 0.2:
        radius[:] = radius[0]
    if dice.uniform() < 0.5:
        up, down = dice.choice(np.arange(1, count + 1), 2, replace=False)
        position = np.insert(position, sorted((up, down)), position[sorted((up, down))])
        radius = np.repeat(radius, np.bincount([*range(count + 1), up, down]))
        beyond = np.append(False, position[1:] == position[:-1])
        radius[beyond] *= dice.uniform(0.9, 1.2)
    return Bore(position, radius)


def random_holes(dice, bore: Bore, end: float, count: int) -> Holes:
    """Holes in any order; one or two exactly at slices, some under pads, in the round body, on a flat or in one."""
    position = dice.uniform(0.05, 0.97, count) * end
    if count > 1:
        position[0] = bore.position[1]
    around = np.interp(position, bore.position, bore.radius)
    radius = around * dice.uniform(0.2, 0.9, count)
    gap = np.where(dice.uniform(size=count) < 0.5, dice.uniform(1e-3, 4e-3, count), 0.0)
    height = dice.uniform(2e-3, 1.2e-2, count)
    rim = np.where(dice.uniform(size=count) < 0.5, dice.uniform(5e-4, 2e-3, count), 0.0)
    return Holes(
        position, dice.uniform(-3.0, 3.0, count), radius, radius * dice.uniform(0.7, 1.3, count), height,
        around + height * dice.uniform(0.8, 1.1, count), rim, radius * 1.7, gap, dice.uniform(-2e-4, 6e-4, count),
        dice.uniform(0.0, 0.1, count),
    )  # fmt: skip


def random_duct(dice, count: int) -> Duct:
    """A duct with so many holes: cavity lumped or a cylinder, air warming linearly or as breath does, wet or dry."""
    bore = random_bore(dice)
    end = bore.position[-1] * dice.uniform(0.93, 1.06)
    cavity, resonance = dice.choice([np.inf, 4e-3]), dice.choice([np.inf, 2200.0])
    reed = Reed(dice.uniform(2e-7, 2e-6), cavity, dice.uniform(1e-8, 3e-7), resonance, dice.uniform(0.0, 0.4))
    warming = dice.choice([np.inf, 0.2])
    climate = Climate(dice.uniform(15, 35), dice.uniform(15, 30), dice.uniform(), dice.uniform(4e-4, 0.05), warming)
    holes = random_holes(dice, bore, end, count)
    return as_arrays(Duct(bore, slice_positions(bore), end, dice.uniform(1e-3, 5e-3), holes, reed, climate))


def folded_up(dice, duct: Duct) -> Duct:
    """The same duct folded once or twice, its holes on two or three tubes, some of them perhaps on a bend."""
    end, count = float(duct.end_position), int(dice.integers(1, 3))
    begin = np.array([0.25, 0.6])[:count] * end
    bends = Bends(begin, begin + 0.12 * end, np.max(duct.bore.radius) * dice.uniform(1.5, 4.0, count))
    away = np.cumsum(np.concatenate([np.zeros((2, 1)), dice.uniform(0.02, 0.06, (2, count))], axis=1), axis=1)
    starts, down = np.concatenate([[0.0], bends.end]), (-1.0) ** np.arange(count + 1)
    tubes = Tubes(starts, dice.uniform(0.0, 0.3, count + 1), down, *away)
    slices = np.sort(np.concatenate([duct.slices, bends.begin, bends.end]))
    return as_arrays(duct._replace(bends=bends, tubes=tubes, slices=slices))


def random_chart(dice, count: int) -> tuple[np.ndarray, np.ndarray]:
    """A few fingerings (N, H) of so many holes, open, closed or between, and targets (N,) [Hz]."""
    notes = int(dice.integers(1, 12))
    openness = dice.choice([0.0, 1.0, 0.3, 0.5], (notes, count), p=[0.5, 0.35, 0.1, 0.05])
    return openness, np.sort(dice.uniform(90.0, 1200.0, notes))
