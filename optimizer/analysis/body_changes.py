"""Holes, keys, pieces and reach of two layouts side by side. Reads records only.

A hole is unchanged when what is drilled is bit-identical, so a locked one is.
"""

from collections.abc import Sequence
from itertools import zip_longest

from optimizer.analysis.hand_fit import verdict
from optimizer.records.comparison import (
    HoleChange,
    KeyChange,
    LeverChange,
    PieceChange,
    ReachChange,
    Thresholds,
    difference,
    names_of_both,
    pair,
)
from optimizer.records.keys import KeyRecord
from optimizer.records.layout import HoleRecord, ReachRecord
from optimizer.records.pieces import PieceRecord

DRILLED = (
    "position_mm",
    "azimuth_deg",
    "tilt_deg",
    "diameter_mm",
    "top_diameter_mm",
    "chimney_mm",
    "cover",
    "by",
    "rest",
    "role",
    "pad",
)
"""What must be bit-identical for a hole to count as unchanged."""


def turn_deg(first: float, other: float) -> float:
    """How far one azimuth is turned from another, between -180 and 180 degrees."""
    return (other - first + 180.0) % 360.0 - 180.0


def hole_changes(first: Sequence[HoleRecord], other: Sequence[HoleRecord], limits: Thresholds) -> list[HoleChange]:
    """Each hole of either by its id, in the first's order, new ones last."""
    before, after = {hole.id: hole for hole in first}, {hole.id: hole for hole in other}
    return [_hole(name, before.get(name), after.get(name), limits) for name in names_of_both(before, after)]


def _hole(name: str, first: HoleRecord | None, other: HoleRecord | None, limits: Thresholds) -> HoleChange:
    positions, diameters = pair(first, other, "position_mm"), pair(first, other, "diameter_mm")
    state, changes = "new" if first is None else "gone", list[str]()
    if first is not None and other is not None:
        same = all(getattr(first, field) == getattr(other, field) for field in DRILLED)
        state, changes = ("unchanged", []) if same else ("changed", _said(first, other, limits))
    return HoleChange.model_validate(
        {
            "id": name,
            "state": state,
            "changes": changes,
            "position_mm": positions,
            "diameter_mm": diameters,
            "moved_mm": difference(positions),
            "resized_mm": difference(diameters),
        }
    )


def _said(first: HoleRecord, other: HoleRecord, limits: Thresholds) -> list[str]:
    """What changed of a hole, in words; `slight` where nothing passes its threshold."""
    said = []
    if abs(other.position_mm - first.position_mm) >= limits.moved_mm:
        said.append("moved")
    sizes = other.diameter_mm - first.diameter_mm, other.top_diameter_mm - first.top_diameter_mm
    if max(map(abs, sizes)) >= limits.resized_mm:
        said.append("resized")
    if abs(turn_deg(first.azimuth_deg, other.azimuth_deg)) >= limits.turned_deg:
        said.append(f"turned {turn_deg(first.azimuth_deg, other.azimuth_deg):+.0f} deg")
    if abs(other.chimney_mm - first.chimney_mm) >= limits.resized_mm:
        said.append(f"chimney {other.chimney_mm - first.chimney_mm:+.2f}")
    for field, words in (("cover", "cover"), ("by", "worked by"), ("rest", "rests"), ("role", "role")):
        if getattr(first, field) != getattr(other, field):
            said.append(f"{words} {getattr(first, field)} to {getattr(other, field)}")
    return said or ["slight"]


def key_changes(first: Sequence[KeyRecord], other: Sequence[KeyRecord], limits: Thresholds) -> list[KeyChange]:
    """Each key of either by its id, in the first's order, new ones last."""
    before, after = {key.id: key for key in first}, {key.id: key for key in other}
    return [_key(name, before.get(name), after.get(name), limits) for name in names_of_both(before, after)]


def _key(name: str, first: KeyRecord | None, other: KeyRecord | None, limits: Thresholds) -> KeyChange:
    lengths = [{lever.hole: lever.length_mm for lever in key.levers} if key else {} for key in (first, other)]
    holes = [*lengths[0], *(hole for hole in lengths[1] if hole not in lengths[0])]
    levers = [LeverChange(hole=hole, length_mm=(lengths[0].get(hole), lengths[1].get(hole))) for hole in holes]
    if first is None or other is None:
        state = "new" if first is None else "gone"
        found: dict[str, object] = {"state": state, "changes": [], "moved_mm": None, "turned_deg": None}
        return KeyChange.model_validate({"id": name, "levers": levers, **found})
    moved = difference((first.touch_position_mm, other.touch_position_mm))
    angles = first.touch_azimuth_deg, other.touch_azimuth_deg
    turned = None if angles[0] is None or angles[1] is None else turn_deg(angles[0], angles[1])
    said = _key_said(first, other, moved, turned, limits)
    if not said and any(lever.length_mm[0] != lever.length_mm[1] for lever in levers):
        said = ["lever"]
    same = not said and first == other
    found = {"state": "unchanged" if same else "changed", "changes": said or ([] if same else ["slight"])}
    return KeyChange.model_validate({"id": name, "levers": levers, "moved_mm": moved, "turned_deg": turned, **found})


def _key_said(
    first: KeyRecord, other: KeyRecord, moved: float | None, turned: float | None, limits: Thresholds
) -> list[str]:
    said = []
    if moved is not None and abs(moved) >= limits.moved_mm:
        said.append("touch moved")
    if turned is not None and abs(turned) >= limits.turned_deg:
        said.append("touch turned")
    for field in ("touch", "moved_by", "opens", "closes"):
        before, after = getattr(first, field), getattr(other, field)
        if before != after:
            said.append(f"{field.replace('_', ' ')} {_list(before)} to {_list(after)}")
    return said


def _list(value: str | list[str]) -> str:
    return value if isinstance(value, str) else " ".join(value) or "none"


def piece_changes(first: Sequence[PieceRecord], other: Sequence[PieceRecord]) -> list[PieceChange]:
    """Pieces by their number from the reed."""
    return [
        PieceChange(
            number=number,
            length_mm=pair(before, after, "length_mm"),
            joint_at_mm=(_joint(before), _joint(after)),
        )
        for number, (before, after) in enumerate(zip_longest(first, other), start=1)
    ]


def _joint(piece: PieceRecord | None) -> float | None:
    return piece.to_mm if piece is not None and piece.joint_mm > 0 else None


def reach_changes(first: Sequence[ReachRecord], other: Sequence[ReachRecord]) -> list[ReachChange]:
    """Pairs of fingers of either."""
    before, after = {pair.pair: pair for pair in first}, {pair.pair: pair for pair in other}
    return [_reach(name, before.get(name), after.get(name)) for name in names_of_both(before, after)]


def _reach(name: str, first: ReachRecord | None, other: ReachRecord | None) -> ReachChange:
    spacing = pair(first, other, "spacing_mm")
    return ReachChange(
        pair=name,
        state="new" if first is None else "gone" if other is None else "both",
        spacing_mm=spacing,
        working_mm=pair(first, other, "working_mm"),
        difference_mm=difference(spacing),
        verdict=(verdict(first) if first else None, verdict(other) if other else None),
    )
