"""What gauges read of an instrument, as the numbers of its fit have it.

What is gauged follows from several numbers at once: a hole's diameter from its own deviation, from that of all printed
holes and from shrinkage. How, the deviations themselves say.
"""

from collections.abc import Sequence

import numpy as np

from acoustics.arrays import Floats
from optimizer.geometry.build import MM
from optimizer.project.faults import Fault
from optimizer.prototype.gauged_layout import drawn_of
from optimizer.prototype.map_fit import Reading
from optimizer.prototype.played_model import Played
from optimizer.records.gauge import GaugedValue
from optimizer.records.layout import LayoutRecord
from optimizer.solving.real_resonances import record_build
from optimizer.words import counted

OF_HOLES = {"hole": "diameter", "chimney": "chimney", "position": "position"}
"""What is gauged of a hole, and how the fit's numbers call it."""


def readings_of(
    record: LayoutRecord, model: Played, gauged: Sequence[GaugedValue]
) -> tuple[tuple[Reading, ...], list[str]]:
    """Readings for a fit, and remarks on what it has no number for.

    Parameters
    ----------
    record : the layout
    model : what may differ
    gauged : of its instrument

    Raises
    ------
    Fault
        for what the layout does not have
    """
    drawn, found = drawn_of(record), []
    names = [_name(record, each) for each in gauged]
    tops = sum(each.what == "hole_top" for each in gauged)
    for each, name in zip(gauged, names, strict=True):
        wanted = drawn.at(each.what, each.where)
        if wanted is None:
            raise Fault(f"{each.what} {each.where} was gauged, but the layout has none; it is of another one")
        if each.what != "hole_top":
            of_one = names.count(name) if each.what == "bore" else 1  # a tool errs alike in all of one bore
            row = row_of(model, each.what, each.where)
            found.append(Reading(name, row, each.value_mm - wanted, each.sd_mm * of_one**0.5))
    told = [f"tops of {counted(tops, 'hole')} were gauged: a fit has no numbers for them"] if tops else []
    return tuple(found), told


def _name(record: LayoutRecord, value: GaugedValue) -> str:
    """What a fit calls the number that a gauge is nearest to."""
    if value.what in OF_HOLES:
        return f"{OF_HOLES[value.what]} of {value.where}"
    if value.what == "bore":
        build = record_build(record)
        return build.stretches[int(build.of_places(float(value.where) * MM))].name
    return value.what


def row_of(model: Played, what: str, where: str) -> Floats:
    """How far each number (P,) of a fit, by one deviation, moves what a gauge reads there [mm].

    Parameters
    ----------
    model : what may differ
    what, where : as `GaugedValue` says them
    """
    moved = model.layout.may.direction
    if what in OF_HOLES:
        field, times = {
            "hole": (moved.holes.radius, 2.0), "chimney": (moved.holes.chimney_height, 1.0),
            "position": (moved.holes.position, 1.0),
        }[what]  # fmt: skip
        by = times * field[:, model.holes.index(where)]
    elif what == "bore":
        places = np.asarray(model.layout.duct.bore.position)
        by = 2.0 * np.array([np.interp(float(where) * MM, places, wider) for wider in moved.bore.radius])
    else:
        by = moved.end_position
    return np.concatenate([by / MM, np.zeros(len(model.names) - len(by))])
