"""What can be changed of an instrument that is there, and what a layout is once it is.

A change is an amount of one kind at one place. Costs, least steps and how surely a step is met are common practice, no
source; so are the greatest amounts.

| kind | amount | what it does to the layout |
|---|---|---|
| reed | mm3 more air in it, compliance counted as volume | its volume |
| crook out | mm | a cylinder of the crook's end, all behind it that much further on |
| crook cut | mm | the crook ends that much earlier, all behind it that much nearer |
| pad | mm higher | its opening |
| ring | mm narrower | the hole, bore end and top alike |
| lining | mm narrower | the bore of one printed piece, running out at its ends |
| ream | mm wider | the hole, bore end and top alike |
| undercut | mm wider | the hole at its bore end alone, all round |
| bell cut | mm | the bore ends that much earlier |
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, Literal, NamedTuple

import numpy as np

from optimizer.geometry.build import is_lined
from optimizer.records.layout import HoleRecord, LayoutRecord
from optimizer.solving.real_resonances import predict_with_doubt, record_build

LEAST_OPENING_MM = 1.0
"""No pad is set lower: common practice, no source."""

OUT_MM = 2.0
"""Over so much a lining runs out at the end of its piece."""

ALONG = {"position_mm", "touch_position_mm", "from_mm", "to_mm", "begin_mm", "end_mm", "at_mm", "keep_out_mm"}
"""Fields of a layout's file that say where along the body something lies."""


class Kind(NamedTuple):
    """A kind of change.

    Attributes
    ----------
    name : of it
    does : what is told to do it, of a place and an amount
    least, most : amounts
    step : amounts are whole numbers of it
    sure : one standard deviation of what is met
    cost : of one such change
    reversible : whether it can be taken back
    excludes : what it shares with kinds of which one excludes another at the same place
    unit : of all amounts
    """

    name: str
    does: Callable[[str, float], str]
    least: float
    most: float
    step: float
    sure: float
    cost: float
    reversible: bool
    excludes: str
    unit: Literal["mm", "mm3"] = "mm"


def _told(more: str, less: str = "") -> Callable[[str, float], str]:
    return lambda place, amount: (more if amount > 0 else less).format(place=place, amount=f"{abs(amount):g}")


KINDS = {
    kind.name: kind
    for kind in (
        Kind("reed", _told("scrape the reed or set it further out: {amount} mm3 more air",
                           "a stiffer reed, or set further in: {amount} mm3 less air"),
             20.0, 300.0, 5.0, 10.0, 0.5, True, "reed", "mm3"),
        Kind("crook out", _told("pull the crook out by {amount} mm"), 0.5, 4.0, 0.25, 0.2, 0.5, True, "crook"),
        Kind("pad", _told("let the pad of {place} open {amount} mm higher",
                          "let the pad of {place} open {amount} mm lower"),
             0.1, 0.2, 0.05, 0.1, 1.0, True, "pad"),
        Kind("ring", _told("line {place} with wax or lacquer, {amount} mm narrower in diameter"),
             0.2, 0.8, 0.05, 0.1, 2.5, True, "hole"),
        Kind("lining", _told("line the {place} with wax or lacquer, {amount} mm narrower all along, holes plugged"),
             0.05, 0.4, 0.05, 0.04, 3.0, True, "bore"),
        Kind("ream", _told("ream {place} by {amount} mm in diameter"), 0.1, 1.0, 0.05, 0.05, 1.0, False, "hole"),
        Kind("undercut", _told("undercut {place} all round by {amount} mm in diameter at the bore"),
             0.4, 1.6, 0.1, 0.2, 1.5, False, "hole"),
        Kind("crook cut", _told("shorten the crook at its wide end by {amount} mm"),
             0.5, 4.0, 0.25, 0.2, 3.0, False, "crook"),
        Kind("bell cut", _told("shorten the bell by {amount} mm"), 0.5, 8.0, 0.25, 0.2, 2.0, False, "bell"),
    )
}  # fmt: skip


class Change(NamedTuple):
    """An amount of a kind, in its unit, at a place: the id of a hole, the bore of a piece, or nothing."""

    kind: str
    place: str
    amount: float

    @property
    def words(self) -> str:
        """What to do."""
        return KINDS[self.kind].does(self.place, self.amount)


def possible(record: LayoutRecord) -> list[tuple[str, str, float, float]]:
    """Kind, place, least and greatest amount of every change that a layout's parts allow."""
    found = [("reed", "", *_reed_span(record))]
    if record.bore.crook_end_mm > 0.0:
        found += [(name, "", 0.0, KINDS[name].most) for name in ("crook out", "crook cut")]
    for hole in record.holes:
        if hole.pad is not None:
            most = KINDS["pad"].most
            found.append(("pad", hole.id, -min(most, max(hole.pad.opening_mm - LEAST_OPENING_MM, 0.0)), most))
        if not is_lined(hole):
            found += [(name, hole.id, 0.0, _most_at(name, hole)) for name in ("ring", "ream", "undercut")]
    found += [("lining", name, 0.0, _thickest(record, *span)) for name, span in printed_bores(record).items()]
    found.append(("bell cut", "", 0.0, min(KINDS["bell cut"].most, _behind_last_hole(record))))
    return found


def _most_at(name: str, hole: HoleRecord) -> float:
    """No hole is made narrower by more than a fifth, nor wider than the bore where it stands."""
    most = KINDS[name].most
    room = 0.2 * hole.diameter_mm if name == "ring" else hole.bore_diameter_mm - hole.diameter_mm
    return max(0.0, min(most, room))


def printed_bores(record: LayoutRecord) -> dict[str, tuple[float, float]]:
    """Names of the stretches of the bore that are printed, with where each begins and ends [mm]."""
    stretches, end = record_build(record).stretches, record.bore.points_mm[-1][0]
    begins = [0.0, *(each.end_mm for each in stretches[:-1])]
    return {
        each.name: (begin, min(each.end_mm, end))
        for begin, each in zip(begins, stretches, strict=True)
        if each.kind == "bore_diameter_mm" and min(each.end_mm, end) - begin > 2.0 * OUT_MM
    }


def _thickest(record: LayoutRecord, begin: float, end: float) -> float:
    """No lining makes the bore narrower than a hole in it, were that reamed as much wider."""
    inside = [hole for hole in record.holes if begin <= hole.position_mm <= end]
    room = [0.5 * (hole.bore_diameter_mm - hole.diameter_mm) for hole in inside]
    return max(0.0, min([KINDS["lining"].most, *room]))


def _reed_span(record: LayoutRecord) -> tuple[float, float]:
    most = KINDS["reed"].most
    return -min(most, 500.0 * record.reed.volume_cm3), most


def _behind_last_hole(record: LayoutRecord) -> float:
    last = max((hole.position_mm + 0.5 * hole.diameter_mm for hole in record.holes), default=0.0)
    return max(0.0, 0.5 * (record.bore.points_mm[-1][0] - last))


def changed(record: LayoutRecord, changes: Sequence[Change]) -> LayoutRecord:
    """A layout once changes are made; its notes and figures are still those from before.

    Parameters
    ----------
    record : the layout
    changes : their places are of this layout
    """
    for each in changes:
        record = _DOES[each.kind](record, each)
    return record


def as_corrected(record: LayoutRecord, changes: Sequence[Change], number: int) -> LayoutRecord:
    """A layout once changes are made, its notes predicted anew: what the next measurement is held against.

    Parameters
    ----------
    record : the layout
    changes : what was done
    number : of the pass
    """
    made = changed(record, changes)
    notes, doubt = predict_with_doubt(made)
    cents = [note for note in notes if note.cents is not None and not note.alternate]
    weight = np.array([note.weight for note in cents])
    tuning = float(np.sqrt(weight @ np.array([note.cents for note in cents], float) ** 2 / np.sum(weight)))
    return made.model_copy(
        update={
            "notes": notes,
            "doubt": doubt,
            "objectives": record.objectives | {"tuning": tuning},
            "provenance": record.provenance | {"corrected in pass": number},
        }
    )


def _reed(record: LayoutRecord, change: Change) -> LayoutRecord:
    volume = record.reed.volume_cm3 + 0.001 * change.amount
    return record.model_copy(update={"reed": record.reed.model_copy(update={"volume_cm3": volume})})


def _on_hole(sizes: Callable[[HoleRecord, float], dict[str, object]]) -> Callable[..., LayoutRecord]:
    def done(record: LayoutRecord, change: Change) -> LayoutRecord:
        holes = [
            hole.model_copy(update=sizes(hole, change.amount)) if hole.id == change.place else hole
            for hole in record.holes
        ]
        return record.model_copy(update={"holes": holes})

    return done


def _wider(hole: HoleRecord, by: float) -> dict[str, object]:
    return {"diameter_mm": hole.diameter_mm + by, "top_diameter_mm": hole.top_diameter_mm + by, "tool": None}


def _lined(record: LayoutRecord, change: Change) -> LayoutRecord:
    begin, end = printed_bores(record)[change.place]
    place, width = np.array(record.bore.points_mm).T
    corners = [begin, begin + OUT_MM, end - OUT_MM, end]

    def narrower(at: Any, wide: Any) -> Any:
        return wide - change.amount * np.interp(at, corners, [0.0, 1.0, 1.0, 0.0])

    places = np.union1d(place, corners)
    widths = narrower(places, np.interp(places, place, width))
    points = [(float(s), float(d)) for s, d in zip(places, widths, strict=True)]
    holes = [
        hole.model_copy(update={"bore_diameter_mm": float(narrower(hole.position_mm, hole.bore_diameter_mm))})
        for hole in record.holes
    ]
    return record.model_copy(update={"bore": record.bore.model_copy(update={"points_mm": points}), "holes": holes})


def _opened(hole: HoleRecord, by: float) -> dict[str, object]:
    pad = hole.pad
    return {"pad": pad and pad.model_copy(update={"opening_mm": pad.opening_mm + by})}


def _crook(record: LayoutRecord, change: Change) -> LayoutRecord:
    """The bore cut open at the crook's end: pulled out by a cylinder, or cut shorter, the body following."""
    end, by = record.bore.crook_end_mm, change.amount if change.kind == "crook out" else -change.amount
    place, width = np.array(record.bore.points_mm).T
    until = min(end, end + by)
    before = [(float(s), float(d)) for s, d in zip(place, width, strict=True) if s < until]
    behind = [(float(s + by), float(d)) for s, d in zip(place, width, strict=True) if s > end]
    joint = float(np.interp(end, place, width))
    meets = [(until, float(np.interp(until, place, width))), (end + by, joint)]
    bends = [_shifted(bend, by, end) for bend in record.bore.bends]
    points = [*before, *meets, *behind]
    bore = record.bore.model_copy(update={"points_mm": points, "crook_end_mm": until, "bends": bends})
    parts = ("holes", "keys", "fittings", "pieces")
    moved = {name: [_shifted(each, by, end) for each in getattr(record, name)] for name in parts}
    return record.model_copy(update={"bore": bore, **moved})


def _shifted(part: Any, by: float, end: float) -> Any:
    """A part of a layout, all of it that lies beyond the crook further along; what is on the crook stays."""

    def moved(value: Any, along: bool = False) -> Any:
        if isinstance(value, Mapping):
            return {name: moved(each, name in ALONG) for name, each in value.items()}
        if isinstance(value, list | tuple):
            return [moved(each, along) for each in value]
        return value + by if along and isinstance(value, float | int) and value >= end else value

    return type(part).model_validate(moved(part.model_dump()))


def _bell(record: LayoutRecord, change: Change) -> LayoutRecord:
    place, width = np.array(record.bore.points_mm).T
    end = float(place[-1]) - change.amount
    kept = [*(point for point in record.bore.points_mm if point[0] < end), (end, float(np.interp(end, place, width)))]
    return record.model_copy(update={"bore": record.bore.model_copy(update={"points_mm": kept})})


_DOES: Mapping[str, Callable[[LayoutRecord, Change], LayoutRecord]] = {
    "reed": _reed,
    "crook out": _crook,
    "crook cut": _crook,
    "pad": _on_hole(_opened),
    "lining": _lined,
    "ring": _on_hole(lambda hole, by: _wider(hole, -by)),
    "ream": _on_hole(_wider),
    "undercut": _on_hole(lambda hole, by: {"diameter_mm": hole.diameter_mm + by, "tool": None}),
    "bell cut": _bell,
}
