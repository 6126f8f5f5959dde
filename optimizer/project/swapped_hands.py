"""Left and right taken for each other: the right hand's holes or row nearer the reed than the left's, and a chart that
opens holes at the wrong end of the bore.

The left hand lies above the right on woodwinds that are held before the player (common practice, no source). A bore
with its highest open hole s from the reed sounds about as 1 / s: a cone of length s has its first resonance at c / 2 s,
a closed cylinder at c / 4 s (Fletcher and Rossing, *The Physics of Musical Instruments*, 1998, chapter 8; from memory).
"""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from optimizer.project.chart import ChartError, ChartNote, openness_of_touches, pressed_touches
from optimizer.project.findings import Suspicion, at
from optimizer.project.model import FINGERS
from optimizer.project.rows import Rows, resting_keys
from optimizer.words import listed

LINES_LEAST = 5
"""Of fewer lines of the first register nothing is said."""

OFF_SEMITONES = 1.5
"""So far the notes of a sound chart do not lie from what their highest open hole says, in the mean."""

BETTER = 0.5
"""With the hands swapped they lie nearer by this, or nothing is asked."""

OTHER = {"L": "R", "R": "L"}


def hand_side_suspicions(sections: Mapping[str, Any], notes: Sequence[ChartNote]) -> list[Suspicion]:
    """Hands that are likely swapped; sections and notes as `suspicions` has them."""
    if not {"holes", "keys", "bore"} <= sections.keys():
        return []
    return _under_the_wrong_hand(sections) or [*_rows(sections), *_chart(sections, notes)]


def _under_the_wrong_hand(sections: Mapping[str, Any]) -> list[Suspicion]:
    """All holes under the right hand's fingers nearer the reed than all under the left's."""
    own = {
        side: [hole for hole in sections["holes"] if hole.by[0] == side and hole.by[1:] in ("1", "2", "3")]
        for side in OTHER
    }
    if min(map(len, own.values())) < 2 or max(map(_middle, own["R"])) >= min(map(_middle, own["L"])):
        return []
    left, right = (listed([hole.id for hole in own[side]]) for side in OTHER)
    said = (
        f"{right}, under the right hand, lie nearer the reed than {left}, under the left, which as a rule lies above; "
        "are L and R swapped?"
    )
    return [Suspicion(at(f"holes.{own['R'][0].id}.by", said), ("holes: hand gap *",))]


def _rows(sections: Mapping[str, Any]) -> list[Suspicion]:
    """The right hand's row nearer the reed than the left's; of a folded body nothing is said."""
    rows = sections.get("rows", Rows())
    places = [row.position_mm for row in (rows.left, rows.right) if row is not None and row.position_mm is not None]
    if len(places) < 2 or places[1][1] >= places[0][0] or sections.get("bends"):
        return []
    said = "the right hand's row lies nearer the reed than the left hand's; are left and right swapped?"
    return [Suspicion(at("rows.right.position_mm", said))]


def _chart(sections: Mapping[str, Any], notes: Sequence[ChartNote]) -> list[Suspicion]:
    """Lines whose highest open hole is far from where their note is, and near with the hands swapped."""
    told = [note for note in notes if note.register == 1 and not note.alternate]
    swapped = [_openness_swapped(note, sections) for note in told]
    if len(told) < LINES_LEAST or any(openness is None for openness in swapped):
        return []
    written = _spread(told, [note.openness for note in told], sections)
    if written < OFF_SEMITONES or _spread(told, swapped, sections) > BETTER * written:
        return []
    said = (
        "the holes that its lines open lie far from where a bore sounds their notes, and near with L and R swapped; "
        "are the hands swapped in the lines, or at what the keys are touched by?"
    )
    return [Suspicion(at("chart.lines", said), ("chart.lines: *", "chart.lines (*lies on its hole and cannot press*"))]


def _openness_swapped(note: ChartNote, sections: Mapping[str, Any]) -> tuple[float, ...] | None:
    """Openness of every hole if each hand pressed what the other does; None where the other hand
    cannot press so."""
    tokens = [
        OTHER[token[0]] + token[1:] if token in FINGERS or (token[1:].isdigit() and token[0] in OTHER) else token
        for token in note.touches.split()
    ]
    holes, keys = sections["holes"], sections["keys"]
    try:
        pressed = pressed_touches(tokens, keys, resting_keys(sections.get("rows", Rows()), holes, keys))
        return openness_of_touches(pressed, holes, keys)
    except ChartError:
        return None


def _spread(notes: Sequence[ChartNote], openness: Sequence[Any], sections: Mapping[str, Any]) -> float:
    """How far notes lie, as a standard deviation, from what the highest open hole says of each [semitones]."""
    holes, end = sections["holes"], float(np.mean(sections["bore"].end_span_mm))
    middles = np.array([_middle(hole) for hole in holes])
    tone = np.array([hole.role != "vent" for hole in holes])
    opened = (np.array(openness, float) > 0.5) & tone
    length = np.where(opened, middles, end).min(axis=1)
    return float(np.std([note.midi for note in notes] + 12.0 * np.log2(length)))


def _middle(hole: Any) -> float:
    return float(np.mean(hole.position_mm))
