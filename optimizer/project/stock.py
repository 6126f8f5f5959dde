"""The `[stock]` table: what lies in the drawer, so that finished sizes are those of a tool or part that is there.

A size is a number of millimetres, or inches as they are called in the trade: "3/8 in", "1 1/4 in". A list that is left
out holds nothing, and what it would decide stays free.

| rule | standing |
|---|---|
| an O-ring is stretched by up to 8 % on the floor of its groove | `O_RING_STRETCH`; common practice, no source |
"""

import itertools
import re
from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache
from typing import Annotated, Any, NamedTuple

from pydantic import AfterValidator, Field, WithJsonSchema, model_validator

from optimizer.project.numbers import MM_IN, Section
from optimizer.words import cut

LEAST_MM, MOST_MM = 0.3, 150.0
"""Between what a size must lie."""

ENTRIES_MOST = 200
SAME_MM = 1e-6
"""Sizes that differ by no more are one."""

O_RING_STRETCH = (0.0, 0.08)
_INCHES = re.compile(r"(?:(\d{1,3}) )?(\d{1,3})/([1-9]\d{0,2}) in|(\d{1,3}(?:\.\d{1,4})?) in")


class Size(NamedTuple):
    """A size of the stock [mm], and what it is called: `9.5`, or `3/8 in`."""

    mm: float
    called: str

    @property
    def order(self) -> tuple[float, float]:
        """By what sizes are sorted."""
        return self.mm, 0.0


class Tube(NamedTuple):
    """A drawn tube: outer diameter, wall, how far its bore may be off either way [mm]; what it is called."""

    outer_mm: float
    wall_mm: float
    tolerance_mm: float
    called: str

    @property
    def order(self) -> tuple[float, float]:
        """By what tubes are sorted."""
        return self.outer_mm, self.wall_mm

    @property
    def bore_mm(self) -> float:
        """Inner diameter [mm]."""
        return round(self.outer_mm - 2.0 * self.wall_mm, 6)


class Ring(NamedTuple):
    """An O-ring: inner diameter and cord [mm]; what it is called."""

    inner_mm: float
    cord_mm: float
    called: str

    @property
    def order(self) -> tuple[float, float]:
        """By what rings are sorted."""
        return self.cord_mm, self.inner_mm


def size_of(entry: Any) -> Size:
    """A size as it is written in a project.

    Raises
    ------
    ValueError
        when it is neither millimetres nor inches, or no size of a tool
    """
    if isinstance(entry, int | float) and not isinstance(entry, bool):
        size = Size(float(entry), f"{entry:g}")
    elif isinstance(entry, str) and (found := _INCHES.fullmatch(entry)):
        whole, over, under, plain = found.groups()
        inches = Fraction(plain) if plain else int(whole or 0) + Fraction(int(over), int(under))
        size = Size(round(float(inches) * MM_IN["in"], 6), entry)
    else:
        raise ValueError(f"must be millimetres, or inches such as '3/8 in', but got {cut(repr(entry))}")
    if not LEAST_MM <= size.mm <= MOST_MM:
        hint = "; write inches as '3/8 in'" if 0 < size.mm < LEAST_MM else ""
        raise ValueError(f"must lie between {LEAST_MM:g} and {MOST_MM:g} mm, but got {size.called}{hint}")
    return size


def _tube(entry: Any) -> Tube:
    if not isinstance(entry, list) or len(entry) != 3:
        raise ValueError(f"must be [outer diameter, wall, tolerance], but got {cut(repr(entry))}")
    outer, tolerance = size_of(entry[0]), entry[2]
    wall = _thin(entry[1], "wall", outer.mm / 2.0)
    return Tube(outer.mm, wall, _thin(tolerance, "tolerance", wall, 0.0), f"{outer.called} x {wall:g}")


def _thin(value: Any, name: str, below_mm: float, least_mm: float = 0.01) -> float:
    """Millimetres below a bound."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not least_mm <= value < below_mm:
        said = f"its {name} must be at least {least_mm:g} and less than {below_mm:g} mm"
        raise ValueError(f"{said}, but got {cut(repr(value))}")
    return float(value)


def _ring(entry: Any) -> Ring:
    if not isinstance(entry, list) or len(entry) != 2:
        raise ValueError(f"must be [inner diameter, cord], but got {cut(repr(entry))}")
    inner, cord = (size_of(value) for value in entry)
    return Ring(inner.mm, cord.mm, f"{inner.called} x {cord.called}")


_READ = {"tube_mm": _tube, "o_ring_mm": _ring}


@lru_cache(maxsize=64)
def _read(name: str, entries: tuple[Any, ...]) -> tuple[Any, ...]:
    return tuple(_READ.get(name, size_of)(list(one) if isinstance(one, tuple) else one) for one in entries)


def _listed(name: str, entries: Sequence[Any]) -> tuple[Any, ...]:
    """What a list of the stock holds; raises ValueError as `size_of` does."""
    return _read(name, tuple(tuple(one) if isinstance(one, list) else one for one in entries))


def _checked(name: str, what: str) -> AfterValidator:
    """A list that holds something, each entry once, from the smallest on."""

    def check(entries: list[Any]) -> list[Any]:
        if not entries:
            raise ValueError(f"holds nothing; list {what}, or leave the key out")
        if len(entries) > ENTRIES_MOST:
            raise ValueError(f"must hold at most {ENTRIES_MOST} entries, but got {len(entries)}")
        found: list[Any] = []
        for number, entry in enumerate(entries, start=1):
            try:
                found += _listed(name, [entry])
            except (ValueError, TypeError) as error:
                raise ValueError(f"entry {number} {error}") from None
        for number, (one, other) in enumerate(itertools.pairwise(found), start=2):
            if one.order == other.order:
                raise ValueError(f"entry {number}, {other.called}, stands there twice")
            if one.order > other.order:
                raise ValueError(
                    f"must go from small to large, but entry {number}, {other.called}, follows {one.called}"
                )
        return entries

    return AfterValidator(check)


def _schema(items: dict[str, Any]) -> WithJsonSchema:
    return WithJsonSchema({"type": "array", "items": items, "minItems": 1, "maxItems": ENTRIES_MOST})


_SIZES = _schema({"anyOf": [{"type": "number"}, {"type": "string"}]})
_ROWS = _schema({"type": "array", "items": {"anyOf": [{"type": "number"}, {"type": "string"}]}})


class Stock(Section):
    """What lies in the drawer: drills, straight reamers, pads, drawn tubes, rods, O-rings."""

    name: Annotated[str, Field(min_length=1, max_length=80)] = "a drawer (no name)"
    source: str = ""
    drill_mm: Annotated[list[Any], _checked("drill_mm", "drills"), _SIZES, Field(description="twist drills")] = []
    reamer_mm: Annotated[
        list[Any], _checked("reamer_mm", "straight reamers"), _SIZES, Field(description="straight reamers")
    ] = []
    pad_mm: Annotated[list[Any], _checked("pad_mm", "pads"), _SIZES, Field(description="diameters of pads")] = []
    tube_mm: Annotated[
        list[Any],
        _checked("tube_mm", "tubes"),
        _ROWS,
        Field(description="drawn tubes: [outer diameter, wall, how far the bore may be off either way]"),
    ] = []
    rod_mm: Annotated[list[Any], _checked("rod_mm", "rods"), _SIZES, Field(description="diameters of rods")] = []
    o_ring_mm: Annotated[
        list[Any], _checked("o_ring_mm", "O-rings"), _ROWS, Field(description="O-rings: [inner diameter, cord]")
    ] = []

    @model_validator(mode="after")
    def _holds_something(self) -> "Stock":
        if not any((self.drill_mm, self.reamer_mm, self.pad_mm, self.tube_mm, self.rod_mm, self.o_ring_mm)):
            raise ValueError("lists nothing; name drill_mm, reamer_mm, pad_mm, tube_mm, rod_mm or o_ring_mm")
        return self

    @property
    def drills(self) -> tuple[Size, ...]:
        """Twist drills, from the smallest."""
        return _listed("drill_mm", self.drill_mm)

    @property
    def reamers(self) -> tuple[Size, ...]:
        """Straight reamers, from the smallest."""
        return _listed("reamer_mm", self.reamer_mm)

    @property
    def pads(self) -> tuple[Size, ...]:
        """Pads, from the smallest."""
        return _listed("pad_mm", self.pad_mm)

    @property
    def tubes(self) -> tuple[Tube, ...]:
        """Drawn tubes, from the thinnest."""
        return _listed("tube_mm", self.tube_mm)

    @property
    def rods(self) -> tuple[Size, ...]:
        """Rods, from the thinnest."""
        return _listed("rod_mm", self.rod_mm)

    @property
    def o_rings(self) -> tuple[Ring, ...]:
        """O-rings, from the smallest."""
        return _listed("o_ring_mm", self.o_ring_mm)

    def o_ring_for(self, groove_mm: float, cord_mm: float) -> Ring | None:
        """The widest O-ring of a cord that is stretched on the floor of a groove as it should be; None for none.

        Parameters
        ----------
        groove_mm : diameter of the groove's floor [mm]
        cord_mm : of the ring [mm]
        """
        least, most = (1.0 + stretch for stretch in O_RING_STRETCH)
        fitting = [
            ring
            for ring in self.o_rings
            if abs(ring.cord_mm - cord_mm) <= SAME_MM and least * ring.inner_mm <= groove_mm <= most * ring.inner_mm
        ]
        return max(fitting, key=lambda ring: ring.inner_mm, default=None)
