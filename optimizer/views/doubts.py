"""What a note's +- is and what it is made of, in words: one place for every table that shows it."""

import math
from collections.abc import Mapping, Sequence

from optimizer.project.learned import FORMULAS, Learned, Shared
from optimizer.project.uncertainty import unit_of
from optimizer.records.layout import LayoutRecord
from optimizer.records.shares import Share

DOUBT = "doubt +-"
"""Heading of a note's standard deviation."""

MEANING = (
    f"{DOUBT}: one standard deviation of the note's cents, over making and playing as [uncertainty] states it and over "
    "what the formulas may be wrong by; lip and breath are left out"
)
LEAST_PERCENT = 0.5

TOLD_SURE = 0.95
"""An error of a formula is told of where its deviation fell below so much of what was stated."""

NAMES: Mapping[str, str] = {
    "reed_volume_cm3": "air of the reed",
    "temperature_degC": "temperature",
    "all_holes_mm": "all printed holes alike",
    "shrinkage_percent": "shrinkage",
    "staple_bore_mm": "bore of the staple",
    "crook_bore_mm": "bore of the crook",
}
"""What instruments share of their making and playing, in words."""


def shares_words(shares: Sequence[Share]) -> str:
    """What a doubt is made of, greatest first, those that round to nothing left out; empty where nothing is known."""
    return ", ".join(f"{share.name} {share.percent:.0f} %" for share in shares if share.percent >= LEAST_PERCENT)


def doubt_notes(shares: Sequence[Share] = ()) -> list[str]:
    """What stands below a table with doubts: what they are and, where it is known, what they are made of.

    Parameters
    ----------
    shares : of the main notes' variances; older layouts know none
    """
    made = shares_words(shares)
    return [MEANING, *([f"made of, by share of all main notes' variances: {made}"] if made else [])]


def taught_lines(before: LayoutRecord, after: LayoutRecord) -> list[str]:
    """What a measured instrument taught of a layout, and what that makes of its doubt.

    Parameters
    ----------
    before, after : the layout without it and with it
    """
    learned = after.reference.learned or Learned()
    told = [_told(kind, *pair) for kind, pair in learned.numbers.items() if kind in NAMES or pair[1] < TOLD_SURE]
    first, last = (
        math.sqrt(sum(sd**2 for sd in sure) / max(len(sure), 1))
        for sure in ([note.sd_cents for note in each.notes if note.sd_cents is not None] for each in (before, after))
    )
    return [
        f"taught by {learned.source or 'a measured instrument'}: {', '.join(told) or 'nothing for sure'}",
        f"that leaves {last:.1f} of {first:.1f} cents of doubt, root mean square; single holes and printed bores are "
        "as doubtful as before, as each print makes them anew",
    ]


def _told(kind: Shared, mean: float, sd: float) -> str:
    from optimizer.solving.uncertainty import formula_names

    if kind in NAMES:
        return f"{NAMES[kind]} {mean:+.2g} +- {sd:.2g} {'K' if kind == 'temperature_degC' else unit_of(kind)}"
    return f"{formula_names([])[FORMULAS.index(kind)]} {mean:+.2g} +- {sd:.2g} of what is stated of it"
