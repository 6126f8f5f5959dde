"""Keys that no line of the chart moves, holes that none opens or closes, fingers that press nothing: likely left out of
a line or of the rows, or left over."""

import re
from collections.abc import Mapping, Sequence
from typing import Any

from optimizer.project.chart import ChartNote, idle_keys, pressed_touches
from optimizer.project.findings import Suspicion, at
from optimizer.project.hand import SIDES
from optimizer.project.linkage import keys_under
from optimizer.project.model import Hole, Key
from optimizer.project.rows import Rows, resting_keys
from optimizer.words import listed

PATTERN = r"[xoh ]+"


def unused_suspicions(sections: Mapping[str, Any], notes: Sequence[ChartNote]) -> list[Suspicion]:
    """What a chart of several lines leaves as it is in all of them; a hole that only such a key moves is not told."""
    if len(notes) < 2 or not {"holes", "keys"} <= sections.keys():
        return []
    holes: list[Hole] = sections["holes"]
    keys: list[Key] = sections["keys"]
    written = not any(re.fullmatch(PATTERN, note.touches) for note in notes)
    resting = resting_keys(sections.get("rows", Rows()), holes, keys)
    idle = set(idle_keys(list(notes), keys, resting)) if written else set()
    found = _without_rows(sections.get("rows", Rows()), holes, keys, notes) if written else []
    found += [Suspicion(at(f"keys.{key.id}", _of_key(key, keys, idle))) for key in keys if key.id in idle]
    led_by_idle = {hole for key in keys if key.id in idle for hole in (*key.opens, *key.closes)}
    for number, hole in enumerate(holes):
        if len({note.openness[number] for note in notes}) == 1 and hole.id not in led_by_idle:
            found.append(Suspicion(at(f"holes.{hole.id}", _of_hole(hole, notes[0].openness[number] > 0.0))))
    return found


def _without_rows(
    rows: Rows, holes: Sequence[Hole], keys: Sequence[Key], notes: Sequence[ChartNote]
) -> list[Suspicion]:
    """Fingers of the chart that lie on no hole and have keys, yet rest on none, as their hand has no row."""
    named = {name for note in notes for name in pressed_touches(note.touches.split(), list(keys))}
    busy = {hole.by for hole in holes} | {name for key in keys for name in key.moved_by}
    found = []
    for side, word in SIDES.items():
        own = {finger: [key.id for key in keys_under(finger, keys)] for finger in (f"{side}{n}" for n in "123")}
        idle = [finger for finger in own if own[finger] and finger in named - busy and side not in rows.by_side]
        if idle:
            said = (
                f"{listed(idle)} {'lies' if len(idle) == 1 else 'lie'} on no hole and so "
                f"{'presses' if len(idle) == 1 else 'press'} nothing; with {word} = {{}} in [rows] each rests on the "
                f"first of its keys: {', '.join(f'{finger} on {own[finger][0]}' for finger in idle)}"
            )
            found.append(Suspicion(at("chart.lines", said), ("chart.lines: * have the same holes open in register *",)))
    return found


def _of_key(key: Key, keys: Sequence[Key], idle: set[str]) -> str:
    """A key that nothing moves; its finger, where that has nothing else to do."""
    alone = all(other.id in idle for other in keys if other.touch == key.touch)
    finger = f", and {key.touch} has no other key in use" if alone and key.touch else ""
    return f"no line of the chart moves it{finger}; add it to a fingering, or delete the line"


def _of_hole(hole: Hole, is_open: bool) -> str:
    under = "" if hole.by == "key" else f", which lies under {hole.by}"
    does, stays = ("closes", "open") if is_open else ("opens", "closed")
    return f"no line of the chart {does} this hole{under}: it stays {stays} in every note; is a fingering wrong?"
