"""Whether a piece, as it is laid, has room on the printer's bed."""

from collections.abc import Iterable

from optimizer.project.printer import AXES, Axes

BED_OFF_MM = 0.05
"""Lengths are rounded, and so fill a bed a little more or less."""


def lacking_room(name: str, box_mm: Iterable[float], usable_mm: Axes) -> list[str]:
    """Where a piece is larger than the bed, a sentence for each axis.

    Parameters
    ----------
    name : of the piece
    box_mm : its size along the printer's axes [mm]
    usable_mm : what the bed leaves [mm]
    """
    return [
        f"{name} is {wide:.1f} mm along the printer's {axis}, and the bed leaves {room:.1f} mm: allow more joints "
        "(sections.joints), or take a larger printer"
        for axis, wide, room in zip(AXES, box_mm, usable_mm, strict=True)
        if wide > room + BED_OFF_MM
    ]
