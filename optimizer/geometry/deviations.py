"""What may come out otherwise than drawn, one independent number each, and what it does to a duct.

| what | kind of `Uncertainty` | how it moves the duct |
|---|---|---|
| diameter of a hole | hole_diameter_mm | both ends of its chimney alike |
| chimney, position of a hole | chimney_mm, position_mm | that hole alone |
| bore diameter | bore_diameter_mm | all of the bore alike |
| shrinkage | shrinkage_percent | lengths, diameters and walls of the body, by one factor; crook and pads stay |
| temperature | temperature_degC | air at both ends alike |
| reed volume | reed_volume_percent | the reed's |
"""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from acoustics.arrays import Array, Floats, leaves, map_arrays
from acoustics.network import Duct
from optimizer.project.uncertainty import Uncertainty

MM = 1e-3
PER_HOLE = {"hole_diameter_mm": "diameter", "chimney_mm": "chimney", "position_mm": "position"}
AS_A_WHOLE = {
    "bore_diameter_mm": "bore diameter",
    "shrinkage_percent": "shrinkage",
    "temperature_degC": "temperature",
    "reed_volume_percent": "reed volume",
}
PLAYING = ("temperature_degC", "reed_volume_percent")
"""Kinds that come from playing; all others come from making."""


class Deviations(NamedTuple):
    """Independent deviations, and what one standard deviation of each adds to the duct.

    Attributes
    ----------
    names, kinds : (K,)
    direction : a Duct whose fields have a leading (K,), SI
    """

    names: tuple[str, ...]
    kinds: tuple[str, ...]
    direction: Duct

    @property
    def from_making(self) -> np.ndarray:
        """Which come from making (K,), not from playing."""
        return np.array([kind not in PLAYING for kind in self.kinds])


def deviations(duct: Duct, stated: Uncertainty, crook_end_mm: float = 0.0, ids: Sequence[str] = ()) -> Deviations:
    """All deviations of a duct.

    Parameters
    ----------
    duct : one (SI)
    stated : one standard deviation of each kind
    crook_end_mm : where the body begins, which is what shrinks [mm]
    ids : names of its holes, default their numbers
    """
    still: Duct = map_arrays(lambda value: np.zeros(np.shape(value)), duct)
    known = ids or [str(number + 1) for number in range(np.size(duct.holes.radius))]
    rows = [*_of_holes(still, stated, known), *_of_the_whole(still, duct, stated, crook_end_mm)]
    names, kinds, moves = zip(*rows, strict=True)
    return Deviations(names, kinds, map_arrays(lambda *parts: np.stack(parts), *moves))


def _of_holes(still: Duct, stated: Uncertainty, ids: Sequence[str]) -> Iterator[tuple[str, str, Duct]]:
    for kind, word in PER_HOLE.items():
        for number, hole in enumerate(ids):
            by = np.zeros(len(ids))
            by[number] = getattr(stated, kind) * MM
            moved = {
                "hole_diameter_mm": {"radius": 0.5 * by, "top_radius": 0.5 * by},
                "chimney_mm": {"chimney_height": by},
                "position_mm": {"position": by},
            }[kind]
            yield f"{word} of {hole}", kind, still._replace(holes=still.holes._replace(**moved))


def _of_the_whole(still: Duct, duct: Duct, stated: Uncertainty, crook_end_mm: float) -> Iterator[tuple[str, str, Duct]]:
    wider = still.bore.radius + 0.5 * stated.bore_diameter_mm * MM
    warmer = still.climate._replace(reed_degC=stated.temperature_degC, bell_degC=stated.temperature_degC)
    volume = 0.01 * stated.reed_volume_percent * np.asarray(duct.reed.volume)
    moved = {
        "bore_diameter_mm": still._replace(bore=still.bore._replace(radius=wider)),
        "shrinkage_percent": _grown(still, duct, 0.01 * stated.shrinkage_percent, crook_end_mm * MM),
        "temperature_degC": still._replace(climate=map_arrays(np.asarray, warmer)),
        "reed_volume_percent": still._replace(reed=still.reed._replace(volume=volume)),
    }
    for kind, word in AS_A_WHOLE.items():
        yield word, kind, moved[kind]


def _grown(still: Duct, duct: Duct, share: float, crook_end: float) -> Duct:
    """What a body larger by a share adds to it; the body begins at crook_end [m], which stays."""

    def along(places: Array) -> Floats:
        return share * np.maximum(np.asarray(places) - crook_end, 0.0)

    on_body = share * (np.asarray(duct.holes.position) >= crook_end)
    sized = ("radius", "top_radius", "chimney_height", "body_radius", "rim_width")
    return still._replace(
        bore=still.bore._replace(
            position=along(duct.bore.position),
            radius=share * (np.asarray(duct.bore.position) >= crook_end) * np.asarray(duct.bore.radius),
        ),
        slices=along(duct.slices),
        end_position=along(duct.end_position),
        end_wall=share * np.asarray(duct.end_wall),
        holes=still.holes._replace(
            position=along(duct.holes.position),
            **{name: on_body * np.asarray(getattr(duct.holes, name)) for name in sized},
        ),
    )


def by_deviation(slope: Duct, found: Deviations) -> Floats:
    """Cents that one standard deviation of each brings to each note (N, K).

    Fields that nothing moves are passed over: some are infinite, and have no slope.

    Parameters
    ----------
    slope : of the notes by the duct's numbers, fields (N, ...) [cents per SI unit]
    found : the deviations (K,)
    """
    total = np.zeros((len(np.asarray(slope.end_position)), len(found.names)))
    for rise, moved in zip(leaves(slope), leaves(found.direction), strict=True):
        if np.any(moved):
            total += np.asarray(rise).reshape(len(total), -1) @ moved.reshape(len(found.names), -1).T
    return total


def moved_ducts(duct: Duct, found: Deviations, draws: Floats) -> Duct:
    """A batch of ducts (B, ...), each moved by its draws.

    Parameters
    ----------
    duct : one (SI)
    found : the deviations (K,)
    draws : (B, K) in standard deviations
    """

    def moved(value: Array, by: Floats) -> Floats:
        return np.asarray(value) + np.tensordot(draws, by, axes=1)

    batch: Duct = map_arrays(moved, duct, found.direction)
    return batch
