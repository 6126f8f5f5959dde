"""What an instrument is made of besides its holes: every part with its size, how many, and what it is for.

| part | rule | standing |
|---|---|---|
| axle rod | from outside to outside of its end posts, and 1.5 mm for a thread or head at each end | common practice |
| hinge tube | between two posts, less 0.1 mm of play at each end | common practice, no source |
| pad | of the stock, else the next half millimetre up; on a sunk flat down, if it covers the rim | common practice |
| spring | one for each key with an axle of its own | rule of thumb |
| cork | one under each touch and one under each foot | rule of thumb |
| screw | one for each post, M2 into an insert | rule of thumb |
| O-ring | of the stock, else so wide that the groove stretches it by 3 % | common practice, no source |
| print time | mass over 12 to 18 g an hour | rule of thumb, from memory |
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from optimizer.geometry.build import is_lined
from optimizer.handoff.lists.cutting import Length
from optimizer.handoff.shapes.shape import Drawing, Piece
from optimizer.handoff.shapes.volume import volume_mm3
from optimizer.project.printer import DENSITY_G_PER_CM3
from optimizer.records.keys import AxleRecord, KeyRecord
from optimizer.records.layout import HoleRecord, LayoutRecord

THREAD_MM = 1.5
PLAY_MM = 0.1
PAD_STEP_MM = 0.5
COVERS_MM = 1.0
"""How far a pad covers the rim of its hole all round at the least."""

STRETCHED = 1.03
"""Floor of a groove over the inside of its O-ring."""

GRAMS_PER_HOUR = (12.0, 18.0)
LAYOUT, THUMB = "from the layout", "rule of thumb: common practice, no source"


class Part(NamedTuple):
    """A part: what it is, its size in words, one's length [mm] where it is cut to length, what it is for, what its
    figures rest on, and the sizes that it is bought by [mm]."""

    what: str
    size: str
    length_mm: float | None
    goes_to: str
    rests_on: str
    sizes_mm: tuple[float, ...] = ()


class Counted(NamedTuple):
    """Parts that are alike, with how many, and all that they are for."""

    what: str
    size: str
    length_mm: float | None
    number: int
    goes_to: str
    rests_on: str
    sizes_mm: tuple[float, ...] = ()


def parts_of(record: LayoutRecord) -> list[Part]:
    """Every part of a layout, one by one."""
    return [
        *_crook(record),
        *(part for key in record.keys for part in _turning(key)),
        *(part for key in record.keys for part in _arms(key)),
        *(part for hole in record.holes for part in _closing(hole)),
        *(part for key in record.keys for part in _springs_and_corks(key)),
        *_joints(record),
        *_fittings(record),
    ]


def _fittings(record: LayoutRecord) -> Iterator[Part]:
    for each in record.fittings:
        size = f"{each.length_mm:g} x {each.width_mm:g} mm are kept clear for it"
        yield Part(each.id.replace("_", " "), size, None, "body", LAYOUT)


def _crook(record: LayoutRecord) -> Iterator[Part]:
    bore = record.bore
    for name, low, high in (("staple", 0.0, bore.staple_end_mm), ("crook", bore.staple_end_mm, bore.crook_end_mm)):
        if high > low:
            first, last = (bore.body_diameter_mm(place) - 2.0 * bore.wall_mm for place in (low, high))
            yield Part(name, f"bore {first:.2f} to {last:.2f} mm", round(high - low, 2), "reed end", LAYOUT)


def _turning(key: KeyRecord) -> Iterator[Part]:
    """Rod, tubes and posts of a key's axle."""
    axle = key.axle
    if axle is None:
        return
    rod_mm = axle.outer_diameter_mm if axle.stock == "rod" else axle.inner_diameter_mm
    yield Part("axle rod", f"diameter {rod_mm:g} mm", rod_length_mm(axle), key.id, LAYOUT, (rod_mm,))
    if axle.stock == "tube":
        outer, wall = axle.outer_diameter_mm, (axle.outer_diameter_mm - axle.inner_diameter_mm) / 2.0
        for length in tube_lengths_mm(axle):
            yield Part("hinge tube", f"{outer:g} x {wall:g} mm", length, key.id, LAYOUT, (outer, wall))
    for _ in axle.posts:
        size = f"diameter {axle.post_diameter_mm:g} mm, axle {axle.height_mm:g} mm above the body"
        yield Part("post", size, None, key.id, LAYOUT)
        yield Part("screw", "M2, with an insert where posts are printed", None, key.id, THUMB)


def rod_length_mm(axle: AxleRecord) -> float:
    """Length of the rod of an axle, a tenth of a millimetre up [mm]."""
    return _tenths(axle.length_mm + axle.post_diameter_mm + 2.0 * THREAD_MM, up=True)


def tube_lengths_mm(axle: AxleRecord) -> list[float]:
    """Lengths of the tubes of an axle from post to post, a tenth of a millimetre down [mm]."""
    places = sorted(post.position_mm for post in axle.posts)
    taken = axle.post_diameter_mm + 2.0 * PLAY_MM
    return [_tenths(high - low - taken, up=False) for low, high in pairwise(places)]


def _tenths(mm: float, up: bool) -> float:
    return round((math.ceil(10.0 * mm - 1e-6) if up else math.floor(10.0 * mm + 1e-6)) / 10.0, 1)


def _arms(key: KeyRecord) -> Iterator[Part]:
    for lever in key.levers:
        for which, length in (("touch", lever.touch_arm_mm), ("pad", lever.pad_arm_mm)):
            goes_to = f"{key.id}, {which}" + (f" on {lever.hole}" if which == "pad" else "")
            yield Part("lever arm", "from axle to middle", length, goes_to, LAYOUT)


def _closing(hole: HoleRecord) -> Iterator[Part]:
    """Pad, cup and lining of a hole."""
    if hole.pad is not None:
        pad = pad_mm(hole)
        wider = hole.pad.cup_diameter_mm - hole.pad.diameter_mm
        standing = "from the stock" if hole.pad.in_stock else "next half millimetre: common practice, no source"
        yield Part("pad", f"diameter {pad:g} mm", None, hole.id, standing, (pad,))
        yield Part("pad cup", f"outside {pad + wider:.1f} mm", None, hole.id, standing)
    if is_lined(hole):
        called = f", {hole.tool.called}" if hole.tool is not None and hole.tool.kind == "tube" else ""
        length = _tenths(hole.chimney_mm, up=True)
        yield Part("vent tube", f"inside {hole.diameter_mm:g} mm{called}", length, hole.id, LAYOUT, (hole.diameter_mm,))


def pad_mm(hole: HoleRecord) -> float:
    """Diameter of the pad to take for a hole [mm]: of the stock as it is, else in half millimetres. One that lies on a
    raised or round body is never narrower than its seat, one in a sunk flat never wider, as long as it covers the rim.

    Raises
    ------
    ValueError
        for a hole without a pad
    """
    if hole.pad is None:
        raise ValueError(f"{hole.id} has no pad")
    if hole.pad.in_stock:
        return hole.pad.diameter_mm
    sunk = hole.seat is not None and (hole.seat.top_mm or 0.0) < 0.0
    seat = 0.0 if hole.seat is None else hole.seat.outer_diameter_mm
    down = PAD_STEP_MM * math.floor(min(hole.pad.diameter_mm, seat) / PAD_STEP_MM + 1e-6)
    if sunk and down >= hole.top_diameter_mm + 2.0 * COVERS_MM:
        return down
    return PAD_STEP_MM * math.ceil(max(hole.pad.diameter_mm, seat) / PAD_STEP_MM - 1e-6)


def _springs_and_corks(key: KeyRecord) -> Iterator[Part]:
    if key.axle is not None:
        yield Part("spring", "needle, 0.5 to 0.9 mm, or flat, 0.3 mm", None, key.id, THUMB)
    for where in ("under the touch", "under the foot") if key.axle is not None else ("at the link",):
        yield Part("cork", "sheet of 1 to 2 mm", None, f"{key.id}, {where}", THUMB)


def _joints(record: LayoutRecord) -> Iterator[Part]:
    for number, piece in enumerate(record.pieces, start=1):
        joint = piece.joint
        if joint is None or joint.groove_diameter_mm is None:
            continue
        cord = f", cord {joint.cord_mm:g}" if joint.cord_mm is not None else ""
        inside = joint.groove_diameter_mm / STRETCHED
        size, sizes = joint.o_ring or f"inside about {inside:.1f} mm{cord}", (inside, joint.cord_mm or 0.0)
        standing = "from the stock" if joint.o_ring else "stretched by 3 %: common practice, no source"
        for _ in range(joint.grooves):
            yield Part("O-ring", size, None, f"joint {number}", standing, sizes)


def counted_parts(parts: Iterable[Part]) -> list[Counted]:
    """Parts that are alike taken together, in the order of the first of each."""
    groups: dict[tuple[str, str, float | None, str, tuple[float, ...]], list[str]] = {}
    for part in parts:
        alike = part.what, part.size, part.length_mm, part.rests_on, part.sizes_mm
        groups.setdefault(alike, []).append(part.goes_to)
    order = {what: at for at, what in enumerate(dict.fromkeys(what for what, *_ in groups))}
    found = [
        Counted(what, size, length, len(owners), "; ".join(dict.fromkeys(owners)), rests_on, sizes)
        for (what, size, length, rests_on, sizes), owners in groups.items()
    ]
    return sorted(found, key=lambda each: order[each.what])


def to_cut(parts: Sequence[Part]) -> dict[tuple[str, str], list[Length]]:
    """Lengths of rods and tubes, by what bar they are cut from."""
    found: dict[tuple[str, str], list[Length]] = {}
    for part in parts:
        if part.what in ("axle rod", "hinge tube") and part.length_mm is not None:
            found.setdefault((part.what, part.size), []).append(Length(part.length_mm, part.goes_to))
    return found


class PrintCost(NamedTuple):
    """What each printed piece weighs [g], and how long all take, from and to [h]."""

    grams: dict[str, float]
    hours: tuple[float, float]


def print_cost(record: LayoutRecord, finished: Drawing) -> PrintCost:
    """Mass of each piece's print, solid, its seats and feet with it, and time by `GRAMS_PER_HOUR`.

    Parameters
    ----------
    record : the layout, whose density counts
    finished : its pieces in finished sizes
    """
    density = record.mass.density_g_per_cm3 if record.mass else DENSITY_G_PER_CM3
    grams = {piece.name: density / 1000.0 * _volume_mm3(piece) for piece in finished.pieces if not piece.locked}
    slow, fast = GRAMS_PER_HOUR
    return PrintCost(grams, (sum(grams.values()) / fast, sum(grams.values()) / slow))


def _volume_mm3(piece: Piece) -> float:
    """By arithmetic, or where seats or holes overlap by the mesh."""
    by_arithmetic = volume_mm3(piece)
    if by_arithmetic is not None:
        return by_arithmetic
    from optimizer.handoff.meshes.mesh import piece_mesh
    from optimizer.handoff.meshes.mesh_checks import surface_of

    return surface_of(piece_mesh(piece)).volume_mm3
