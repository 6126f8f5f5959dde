"""What sounds, as arrays: bore, holes, reed and the air along the way.

| quantity | shape | unit |
|---|---|---|
| bore points, slice points, holes | (K,), (S,), (H,) | m |
| bends, tubes of a folded body | (B,), (T,) | m |
| the same of a batch of ducts | a leading (B,) on every field | |
"""

from typing import Any, NamedTuple

import numpy as np

from acoustics.air import OUTDOOR_CO2, Air, air
from acoustics.arrays import Array, leaves, map_arrays
from acoustics.bends import Bends, Tubes
from acoustics.bore import Bore
from acoustics.duals import Dual, value_of
from acoustics.reed import Reed
from acoustics.toneholes import Holes


class Climate(NamedTuple):
    """Air along the bore: temperature at reed and bell end [degC], humidity 0 to 1, CO2 fraction.

    The temperature falls linearly, or, with a warming_length [m], as the breath's warmth does: by a factor e over that
    length, to the bell's at the end.
    """

    reed_degC: Array
    bell_degC: Array
    humidity: Array = 0.0
    co2: Array = OUTDOOR_CO2
    warming_length: Array = np.inf


class Duct(NamedTuple):
    """Everything that sounds, as arrays.

    Attributes
    ----------
    bore : bore profile
    slices : (S,) [m] positions where the chain is cut, from `slice_positions`; those beyond the end are ignored
    end_position : () [m] where the bore ends; the last line of the profile goes on as far as needed
    end_wall : () [m] wall thickness at the bell end
    holes : tone holes and vents
    reed : what stands at the input
    climate : air along the bore
    bends : of the bore; each begins and ends at a slice
    tubes : of a folded body, whose openings act on each other by their distances in space; none: along the body
    """

    bore: Bore
    slices: Array
    end_position: Array
    end_wall: Array
    holes: Holes
    reed: Reed
    climate: Climate
    bends: Bends = Bends()
    tubes: Tubes = Tubes()


def temperature_at(duct: Duct, s: Array) -> Array:
    """Temperature [degC] at positions, of the shape of s; see `Climate`.

    Parameters
    ----------
    duct : one, or a batch (B, ...)
    s : positions [m], (any,); (B, any) of a batch
    """
    climate = duct.climate
    end, length = duct.end_position[..., None], climate.warming_length
    share = np.clip(s / end, 0.0, 1.0)
    straight = np.isinf(value_of(length))[..., None]
    if not np.all(straight):
        decay = np.where(straight, 1.0, end / length[..., None])
        share = np.where(straight, share, np.expm1(-share * decay) / np.expm1(-decay))
    return climate.reed_degC[..., None] + share * (climate.bell_degC - climate.reed_degC)[..., None]


def air_at(duct: Duct, s: Array) -> Air:
    """Air at positions, of the shape of s; see `temperature_at`.

    Parameters
    ----------
    duct : one, or a batch (B, ...)
    s : positions [m], (any,); (B, any) of a batch
    """
    climate = duct.climate
    return air(temperature_at(duct, s), climate.humidity[..., None], climate.co2[..., None])


def as_arrays(duct: Duct) -> Duct:
    """The duct with every field a floating array, duals as they are."""
    found: Duct = map_arrays(lambda value: value if isinstance(value, Dual) else np.asarray(value, float), duct)
    return found


def stacked(ducts: list[Duct]) -> Duct:
    """Ducts of one shape as a batch (B, ...)."""
    found: Duct = map_arrays(lambda *parts: np.stack([np.asarray(part, float) for part in parts]), *ducts)
    return found


def moving(duct: Duct) -> Duct:
    """The duct with every number of it free: duals by all of them, in the order of `leaves`."""
    sizes = [int(np.size(leaf)) for leaf in leaves(duct)]
    begins = iter(np.cumsum([0, *sizes]))

    def free(value: Any) -> Dual:
        value, begin = np.asarray(value, float), int(next(begins))
        slope = np.zeros((sum(sizes), value.size))
        slope[begin + np.arange(value.size), np.arange(value.size)] = 1.0
        return Dual(value, slope.reshape(len(slope), *value.shape))

    found: Duct = map_arrays(free, duct)
    return found


def split_by_field(duct: Duct, rows: Array) -> Duct:
    """Slopes by all numbers of a duct as a duct of slopes (..., field's shape).

    Parameters
    ----------
    duct : whose numbers they are
    rows : (n, ...) slopes by each, in the order of `leaves`
    """
    begins = iter(np.cumsum([0, *(int(np.size(leaf)) for leaf in leaves(duct))]))

    def part(value: Any) -> Array:
        begin, shape = int(next(begins)), np.shape(value)
        return np.moveaxis(rows[begin : begin + int(np.size(value))], 0, -1).reshape(*rows.shape[1:], *shape)

    found: Duct = map_arrays(part, duct)
    return found
