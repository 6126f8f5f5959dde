"""Every fingering that two hands can hold: what each finger can press by itself, and which holes all of that opens.

Keys and links move by any of their touches, so that what moves is the union of what each finger moves: the states of
the holes are found for all fingerings at once, by bits. One fingering stands for each state, that which presses least.
"""

from collections.abc import Iterable, Sequence
from itertools import combinations
from math import comb, prod
from typing import NamedTuple

import numpy as np

from optimizer.project.chart import ChartNote, pressed_touches
from optimizer.project.faults import Fault
from optimizer.project.linkage import finger_conflict, keys_under, moving
from optimizer.project.model import FINGERS, Project
from optimizer.project.rows import resting_keys

MOST = 4_000_000
"""Fingerings that are looked at; where there are more, no finger presses two keys at once."""

TOGETHER = 4
"""Keys that one finger may press at once, where they allow it."""

SETS_MOST = 20_000
"""Sets of one finger's keys that are listed; where there are more, no finger presses two keys at once."""


HALF = "½"
"""After a finger's name: it covers a part of its hole."""


class Choice(NamedTuple):
    """What one finger may press: its touches; by bits of the holes, what it covers itself, whole or in part, and what
    keys close and open."""

    touches: frozenset[str]
    covers: int
    shades: int
    closes: int
    opens: int


class Reachable(NamedTuple):
    """Distinct states of the holes.

    openness : (N, H) 0 closed, 1 open, between: the chart's half-open
    choice : (N, fingers) number of what each finger presses among `choices`
    choices : of each of the fingers
    fingers : those that have something to press
    fingerings : how many were looked at
    """

    openness: np.ndarray
    choice: np.ndarray
    choices: list[list[Choice]]
    fingers: list[str]
    fingerings: int

    def touches(self, number: int) -> frozenset[str]:
        """What is pressed in one of the states."""
        picked = zip(self.choices, self.choice[number], strict=True)
        return frozenset(touch for choices, at in picked for touch in choices[at].touches)


def reachable(project: Project, notes: Sequence[ChartNote]) -> Reachable:
    """All distinct states of the holes that hands can hold.

    Parameters
    ----------
    project : whose hands, holes and keys they are
    notes : its chart; what it has half open at times is half open in other fingerings, too

    Raises
    ------
    Fault
        where there are too many even so
    """
    for together in (TOGETHER, 1):
        if together > 1 and any(_sets(finger, project, together) > SETS_MOST for finger in FINGERS):
            continue
        choices = [_choices(finger, project, notes, together) for finger in FINGERS]
        count = prod(len(each) for each in choices)
        if count <= MOST:
            break
    else:
        raise Fault(
            f"hands can hold {count} fingerings of it, and {MOST} at the most are looked through: too many keys"
        )
    fingers = [finger for finger, each in zip(FINGERS, choices, strict=True) if len(each) > 1]
    choices = [each for each in choices if len(each) > 1]
    covers, shades, closes, opens, pressed = (np.zeros(1, np.int64) for _ in range(5))
    for each in choices:
        rows = [[*choice[1:], len(choice.touches)] for choice in each]
        bits = np.array(rows, np.int64).T
        pairs = zip((covers, shades, closes, opens), bits[:4], strict=True)
        covers, shades, closes, opens = (np.bitwise_or.outer(before, more).ravel() for before, more in pairs)
        pressed = np.add.outer(pressed, bits[4]).ravel()
    rest = sum(1 << at for at, hole in enumerate(project.holes) if hole.rest == "open")
    state = (rest | opens) & ~(covers | closes)
    sound = np.flatnonzero((closes & opens) == 0)
    easiest = sound[np.argsort(pressed[sound], kind="stable")]
    _, first = np.unique(np.stack([state, shades & state])[:, easiest], axis=1, return_index=True)
    kept = np.sort(easiest[first])
    opened, half = ((bits[kept, None] >> np.arange(len(project.holes))) & 1 for bits in (state, shades & state))
    openness = np.where(half, project.chart.half_open_percent / 100.0, opened)
    numbers = np.array(np.unravel_index(kept, [len(each) for each in choices])).T
    return Reachable(openness, numbers.reshape(len(kept), len(choices)), choices, fingers, len(state))


def _sets(finger: str, project: Project, together: int) -> int:
    """How many sets of its keys a finger has."""
    return sum(comb(len(keys_under(finger, project.keys)), count) for count in range(together + 1))


def _choices(finger: str, project: Project, notes: Sequence[ChartNote], together: int) -> list[Choice]:
    """What a finger may press, nothing first; together: so many of its keys at once, where they allow it."""
    own = [key.id for key in keys_under(finger, project.keys)]
    resting = resting_keys(project.rows, project.holes, project.keys)
    moves = {name for key in project.keys for name in key.moved_by}
    busy = [finger] if finger in resting or finger in moves or any(hole.by == finger for hole in project.holes) else []
    sets = [
        frozenset({*held, *more})
        for held in ([], busy) if held or held is not busy
        for count in range(together + 1)
        for more in combinations(own, count)
    ]  # fmt: skip
    whole = [frozenset(pressed_touches(sorted(each), project.keys, resting)) for each in sets]
    fit = [each for each in dict.fromkeys(whole) if finger_conflict(set(each), project.holes, project.keys) is None]
    halved = {at for note in notes for at, share in enumerate(note.openness) if 0.0 < share < 1.0}
    shaded = any(project.holes[at].by == finger for at in halved)
    more = [frozenset({*(each - {finger}), finger + HALF}) for each in fit if finger in each] if shaded else []
    return [_choice(each, project) for each in [*fit, *more]]


def _choice(touches: frozenset[str], project: Project) -> Choice:
    moved = moving(touches, project.keys)

    def bits(names: Iterable[str]) -> int:
        wanted = set(names)
        return sum(1 << at for at, hole in enumerate(project.holes) if hole.id in wanted)

    return Choice(
        touches,
        bits(hole.id for hole in project.holes if hole.by in touches),
        bits(hole.id for hole in project.holes if hole.by + HALF in touches),
        bits(name for key in moved for name in key.closes),
        bits(name for key in moved for name in key.opens),
    )


def in_words(touches: frozenset[str], project: Project) -> str:
    """Touches as a line of the chart names them: thumbs, fingers by hand, keys; `none` where nothing is pressed. With a
    hole in part covered, the pattern of the chart's order."""
    if any(touch.endswith(HALF) for touch in touches):
        return _pattern(touches, project)
    resting = resting_keys(project.rows, project.holes, project.keys)
    shown = touches - {key for finger, key in resting.items() if finger in touches}
    hands = [side + "".join(digit for digit in "1234" if side + digit in shown) for side in "LR"]
    keys = [key.id for key in project.keys if key.id in shown]
    thumbs = [finger for finger in ("LT", "RT") if finger in shown]
    return " ".join([*thumbs, *(hand for hand in hands if len(hand) > 1), *keys]) or "none"


def _pattern(touches: frozenset[str], project: Project) -> str:
    whole = _choice(touches, project)
    rest = sum(1 << at for at, hole in enumerate(project.holes) if hole.rest == "open")
    opened = (rest | whole.opens) & ~(whole.covers | whole.closes)
    letters = {
        hole.id: "h" if whole.shades >> at & 1 else "o" if opened >> at & 1 else "x"
        for at, hole in enumerate(project.holes)
    }
    return "".join(letters[name] for name in project.chart.order)


def by_finger(touches: frozenset[str], project: Project) -> dict[str, frozenset[str]]:
    """What each finger that presses something presses."""
    touch = {key.id: key.touch for key in project.keys}
    found: dict[str, set[str]] = {}
    for name in touches:
        found.setdefault(touch.get(name, name.removesuffix(HALF)), set()).add(name)
    return {finger: frozenset(held) for finger, held in found.items()}


SLIDE = {"4": 3, "T": 2}
"""What it counts for a little finger and a thumb to change touches; other fingers 2 (rules of thumb, no source)."""


def effort(before: frozenset[str], after: frozenset[str], project: Project) -> int:
    """How hard it is to go from one fingering to another: fingers that move, slides and contrary motion counted more.

    Parameters
    ----------
    before, after : touches pressed
    project : whose they are

    Source: rules of thumb, no source. A finger that goes up or down counts 1, one that changes touches as in `SLIDE`,
    an index finger that leaves its place for a key 2; a hand with one finger up and another down at once 2 more.
    """
    one, other = by_finger(before, project), by_finger(after, project)
    total, ways = 0, set[tuple[str, bool]]()
    for finger in one.keys() | other.keys():
        held, then = one.get(finger, frozenset()), other.get(finger, frozenset())
        if held == then:
            continue
        if held and then:
            total += SLIDE.get(finger[1], 2)
            continue
        ways.add((finger[0], bool(then)))
        total += 2 if finger[1] == "1" and finger not in held | then else 1
    return total + sum(2 for side in "LR" if {(side, True), (side, False)} <= ways)


def differ(before: frozenset[str], after: frozenset[str], project: Project) -> int:
    """How many fingers press something else in two fingerings."""
    one, other = by_finger(before, project), by_finger(after, project)
    return sum(one.get(finger) != other.get(finger) for finger in one.keys() | other.keys())
