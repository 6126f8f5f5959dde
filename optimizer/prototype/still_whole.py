"""Whether what was done of an instrument leaves one."""

from collections.abc import Sequence

import numpy as np

from optimizer.project.faults import Fault
from optimizer.prototype.changes import Change, changed
from optimizer.records.layout import HoleRecord, LayoutRecord

HEADING = "what was done leaves no instrument"


def refuse_impossible(record: LayoutRecord, changes: Sequence[Change]) -> None:
    """Refuse changes that nobody can have made of a layout.

    Parameters
    ----------
    record : the layout
    changes : what was done

    Raises
    ------
    Fault
        with a sentence for each thing that is impossible
    """
    try:
        made = changed(record, changes)
    except ValueError:  # a place before the reed, of something that moved with the crook
        raise Fault("parts of it would lie before the reed", heading=HEADING) from None
    wrong = [*_bore(made), *(said for hole in made.holes for said in _hole(hole))]
    if wrong:
        raise Fault(*wrong, heading=HEADING)


def _bore(made: LayoutRecord) -> list[str]:
    places, widths = np.array(made.bore.points_mm).T
    last = max((hole.position_mm for hole in made.holes), default=0.0)
    told = {
        "its reed would hold less than nothing": made.reed.volume_cm3 < 0.0,
        "its crook would be shorter than nothing": bool(places[0] < 0.0 or np.any(np.diff(places) < 0.0)),
        "its bore would be closed": bool(np.min(widths) <= 0.0),
        f"its bell would end before its last hole, at {last:.1f} mm": bool(places[-1] <= last),
    }
    return [said for said, wrong in told.items() if wrong]


def _hole(hole: HoleRecord) -> list[str]:
    told = []
    if not 0.0 < hole.diameter_mm <= hole.bore_diameter_mm or hole.top_diameter_mm <= 0.0:
        told.append(f"{hole.id} would be {hole.diameter_mm:.2f} mm wide in a bore of {hole.bore_diameter_mm:.2f} mm")
    if hole.pad is not None and hole.pad.opening_mm <= 0.0:
        told.append(f"the pad of {hole.id} would not open")
    return told
