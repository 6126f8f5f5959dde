"""Which line of the chart each tone was: by the order played where that is known, else by the nearest predicted pitch.

A take as a whole may stand in another octave, and too high or too low by what A4, air or reed bring; both are looked
for first. Then a list's order is aligned to the tones by dynamic programming (Needleman & Wunsch, J. Mol. Biol. 48
(1970) 443), notes left out, played again and put in between allowed for. What could be two lines is none.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from acoustics.arrays import Array
from optimizer.hearing.wanted import Line
from optimizer.words import listed

SKIPPED, EXTRA, AGAIN, OCTAVE = 70.0, 80.0, 10.0, 60.0
"""Cents that a note left out, a tone put in, a note played again, and one in another octave count as."""

FAR = 140.0
"""Cents from its predicted pitch beyond which a tone is not the note that a list or a file's name says."""

NEAR = 60.0
"""The same where nothing says which note it is."""

CLEARLY = 20.0
"""By so much must another line lie farther off than the nearest one."""

SAME = 30.0
"""Lines predicted closer to each other are one pitch."""

OCTAVES = (0, -1, 1, -2, 2)
SHIFTS = np.arange(-150.0, 151.0, 10.0)
USUAL = 35.0
"""A take that is off as a whole by less is what it seems."""

SHIFT_COST = 0.15
AS_GOOD = 10.0
"""Cents a tone by which one reading of a take may be worse than another and still be as likely."""


@dataclass(frozen=True)
class Match:
    """What became of one tone: its line, or why it has none; doubtful: whether it stands an octave from what was
    expected of it; by_hand: whether a person said so, who knows the octave."""

    line: Line | None
    why: str = ""
    doubtful: bool = False
    by_hand: bool = False


@dataclass(frozen=True)
class Alignment:
    """All tones of a take.

    Attributes
    ----------
    matches : one for each tone
    octave : by how many the take stands above the chart
    shift : cents by which it then stands above the prediction, as a whole
    cost : cents, of all that does not fit
    """

    matches: list[Match]
    octave: int
    shift: float
    cost: float


def _cents(hz: Array, expected: Array) -> Array:
    """How far every tone (n,) lies above every line (m,), shape (n, m)."""
    return 1200.0 * np.log2(hz[:, None] / expected[None, :])


def in_order(hz: Array, order: Sequence[Line]) -> Alignment:
    """Tones as the notes of a list.

    Parameters
    ----------
    hz : (n,) pitch of each tone
    order : the notes in the order they were to be played
    """
    away = _cents(hz, np.array([line.expected_hz for line in order]))
    readings = []
    for octave in OCTAVES:
        shift = 0.0
        for _ in range(3):
            cost, chosen = _path(away - 1200.0 * octave - shift)
            rest = [away[pair] - 1200.0 * octave for pair in chosen]
            usual = [each for each in rest if not _octave_off(each - shift)]
            shift = float(np.median(usual)) if usual else 0.0
        readings.append((cost + (0.0 if octave == 0 else OCTAVE), octave, shift, chosen))
    cost, octave, shift, chosen = min(readings, key=lambda each: each[0])
    matches = [Match(None, "is none of the listed notes, or one too many") for _ in hz]
    for tone, at in chosen:
        off = _octave_off(away[tone, at] - 1200.0 * octave - shift)
        matches[tone] = Match(order[at], doubtful=off)
    return Alignment(matches, octave, shift, cost)


def _octave_off(cents: float) -> bool:
    return abs(cents) > FAR


def _path(away: Array) -> tuple[float, list[tuple[int, int]]]:
    """The cheapest alignment of tones with listed notes, by how far (n, m) each lies from each: its cost, and which
    tone is which note."""
    tones, notes = away.shape
    single = np.abs(np.abs(away) - 1200.0) + OCTAVE
    fits = np.where(np.abs(away) <= FAR, np.abs(away), np.where(single <= OCTAVE + NEAR, single, np.inf))
    cost = np.full((tones + 1, notes + 1), np.inf)
    move = np.zeros((tones + 1, notes + 1), int)
    cost[0] = SKIPPED * np.arange(notes + 1)
    move[0] = 1
    skips = SKIPPED * np.arange(notes + 1)
    for tone in range(1, tones + 1):
        before, fit = cost[tone - 1], fits[tone - 1]
        ways = np.full((4, notes + 1), np.inf)
        ways[0] = before + EXTRA
        ways[2, 1:], ways[3, 1:] = before[:-1] + fit, before[1:] + fit + AGAIN
        least = np.min(ways, axis=0)
        cost[tone] = np.minimum.accumulate(least - skips) + skips
        move[tone] = np.where(cost[tone] < least - 1e-9, 1, np.argmin(ways, axis=0))
    chosen, tone, note = list[tuple[int, int]](), tones, notes
    while tone or note:
        step = move[tone, note]
        if step >= 2:
            chosen.append((tone - 1, note - 1))
        tone -= step != 1
        note -= step in (1, 2)
    return float(cost[tones, notes]), chosen[::-1]


def as_one(hz: Array, line: Line) -> Alignment:
    """Tones (n,) [Hz] of a recording that holds one note, played once or several times."""
    away = _cents(hz, np.array([line.expected_hz]))[:, 0]
    matches = []
    for each in away:
        octaves = round(each / 1200.0)
        rest = each - 1200.0 * octaves
        if abs(rest) > FAR:
            matches.append(Match(None, f"lies {each:+.0f} cents from where {line.label} is expected"))
        else:
            matches.append(Match(line, doubtful=octaves != 0))
    fits = [each for each, match in zip(away, matches, strict=True) if match.line and not match.doubtful]
    return Alignment(matches, 0, float(np.median(fits)) if fits else 0.0, 0.0)


def in_any_order(hz: Array, lines: Sequence[Line]) -> Alignment:
    """Tones as whatever line is nearest.

    Parameters
    ----------
    hz : (n,) pitch of each tone
    lines : of the chart
    """
    away = _cents(hz, np.array([line.expected_hz for line in lines]))
    readings = sorted({_settled(away - 1200.0 * octave, shift, octave) for octave in OCTAVES for shift in SHIFTS})
    found = [
        Alignment(_nearest(away - 1200.0 * octave - shift, lines), octave, shift, cost)
        for cost, octave, shift in readings
        if cost < readings[0][0] + AS_GOOD
    ]
    best = found[0]
    other = next((each for each in found if _differ(each, best)), None)
    if abs(best.shift) <= USUAL or other is None:
        return best
    why = (
        f"fits its note {best.shift:+.0f} cents off and the next one {other.shift:+.0f}, as all of this take does; "
        "say in which order the notes were played, or at which A4"
    )
    return replace(best, matches=[Match(None, why) for _ in best.matches])


def _settled(away: Array, shift: float, octave: int) -> tuple[float, int, float]:
    """Cost, octave and shift of a reading of tones by how far (n, m) they lie from the lines, from a first shift on."""
    for _ in range(2):
        nearest = np.take_along_axis(away, np.argmin(np.abs(away - shift), axis=1)[:, None], 1)[:, 0]
        near = nearest[np.abs(nearest - shift) <= NEAR]
        shift = round(float(np.median(near)), 1) if len(near) else shift
    cost = float(np.mean(np.minimum(np.abs(nearest - shift), NEAR))) + SHIFT_COST * abs(shift)
    return cost + OCTAVE * abs(octave) / 4.0, octave, shift


def _differ(one: Alignment, other: Alignment) -> bool:
    """Whether more tones than not are other notes in the one than in the other."""
    changed = [a.line is not b.line for a, b in zip(one.matches, other.matches, strict=True) if a.line and b.line]
    return sum(changed) * 2 > len(changed)


def _nearest(away: Array, lines: Sequence[Line]) -> list[Match]:
    """The line of every tone by how far (n, m) it lies from each."""
    return [_match(row, lines) for row in away]


def _match(away: Array, lines: Sequence[Line]) -> Match:
    """The line that a tone can be, by how far it lies from each, (m,)."""
    first = int(np.argmin(np.abs(away)))
    line = lines[first]
    if abs(away[first]) > NEAR:
        octaves = np.abs(np.abs(away) - 1200.0)
        if np.min(octaves) < CLEARLY:
            return replace(_match(np.where(octaves < CLEARLY, 0.0, np.inf), lines), doubtful=True)
        return Match(None, f"is no note of the chart; the nearest, {line.label}, lies {abs(away[first]):.0f} cents off")
    same = [
        each for each, off in zip(lines, away, strict=True)
        if abs(off - away[first]) < SAME or (each.midi is not None and each.midi == line.midi)
    ]  # fmt: skip
    if len(same) > 1:
        ways = listed([f"{each.label} ({each.fingering})" for each in same])
        return Match(None, f"may be {ways}; a list of the notes played, or a file's name, says which")
    others = np.delete(np.abs(away), first)
    if len(others) and np.min(others) - abs(away[first]) < CLEARLY:
        beside = lines[int(np.argsort(np.abs(away))[1])]
        return Match(None, f"lies between {line.label} and {beside.label}")
    return Match(line)
