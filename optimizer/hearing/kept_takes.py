"""A session as a record and back, and notes of it put right by somebody who knows what was played."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from optimizer.hearing.alignment import Alignment, Match
from optimizer.hearing.recording import RATE
from optimizer.hearing.seeds import HOP, Track
from optimizer.hearing.session import Session, Take, told_together
from optimizer.hearing.tones import Heard, Tone, Unheard
from optimizer.hearing.wanted import Line, lines_of
from optimizer.project.faults import Fault
from optimizer.records.layout import LayoutRecord
from optimizer.records.measurement import Unassigned, layout_mark
from optimizer.records.takes import Taken, TakenTone, TakesRecord

LEFT_OUT = "left out by hand"
FARTHEST_CENTS = 300.0
"""A tone farther from a note, whatever the octave, was not that note."""

DIGITS = 2
"""Of a kept pitch in time, which is drawn and no more."""


def takes_record(session: Session, record: LayoutRecord) -> TakesRecord:
    """A session of a layout's instrument, to be kept."""
    told = session.measurement
    return TakesRecord(
        instrument=record.instrument,
        layout=record.id,
        layout_mark=layout_mark(record),
        a4_hz=told.a4_hz,
        bell_degC=told.temperature_degC,
        bell_sd_K=_bell_sd(session),
        takes=[_kept(take) for take in session.takes],
    )


def session_of(kept: TakesRecord, record: LayoutRecord) -> Session:
    """A session as it was kept.

    Parameters
    ----------
    kept : the takes
    record : the layout whose instrument they are of

    Raises
    ------
    Fault
        for a layout that they are not of
    """
    if kept.layout_mark != layout_mark(record):
        raise Fault("the takes are of another layout, or of another version of this one")
    lines = lines_of(record, kept.a4_hz)
    return told_together(
        record, [_take(each, lines) for each in kept.takes], kept.a4_hz, kept.bell_degC, kept.bell_sd_K
    )


def joined(one: Session, other: Session, record: LayoutRecord) -> Session:
    """Two sessions of one instrument as one, counted as the first is."""
    told = one.measurement
    takes = [*one.takes, *other.takes]
    return told_together(record, takes, told.a4_hz, told.temperature_degC, _bell_sd(one))


def put_right(session: Session, record: LayoutRecord, chosen: Mapping[tuple[int, int], int | None]) -> Session:
    """A session with other notes for some of its tones.

    Parameters
    ----------
    session : as it was heard
    record : the layout whose instrument it is of
    chosen : by numbers of a take and of a tone in it, both from 0: the line of the chart, None to leave the tone out

    Raises
    ------
    Fault
        for tones and lines that there are not, and for notes that a tone cannot be
    """
    told = session.measurement
    lines = lines_of(record, told.a4_hz)
    matches = [list(take.alignment.matches) for take in session.takes]
    wrong = []
    for (take, tone), number in chosen.items():
        if not (0 <= take < len(matches) and 0 <= tone < len(matches[take])):
            wrong.append(f"there is no tone {tone + 1} in take {take + 1}")
        elif number is None:
            matches[take][tone] = Match(None, LEFT_OUT, by_hand=True)
        elif not 0 <= number < len(lines):
            wrong.append(f"the chart has no line {number}")
        else:
            line, heard = lines[number], session.takes[take].heard.tones[tone]
            wrong += _too_far(heard, line)
            matches[take][tone] = Match(line, by_hand=True)
    if wrong:
        raise Fault(*wrong)
    takes = [
        replace(take, alignment=replace(take.alignment, matches=found))
        for take, found in zip(session.takes, matches, strict=True)
    ]
    return told_together(record, takes, told.a4_hz, told.temperature_degC, _bell_sd(session))


def _bell_sd(session: Session) -> float:
    told = session.measurement.common.temperature_K
    return 1.0 if told is None else told


def _too_far(tone: Tone, line: Line) -> list[str]:
    """A sentence where a tone cannot be a line in any octave."""
    off = 1200.0 * np.log2(tone.hz / line.wanted_hz)
    off -= 1200.0 * round(off / 1200.0)
    if abs(off) <= FARTHEST_CENTS:
        return []
    return [f"the tone at {tone.begin:.1f} s lies {off:+.0f} cents from {line.label}: it was another note"]


def _kept(take: Take) -> Taken:
    heard, aligned = take.heard, take.alignment
    seconds = heard.track.seconds
    return Taken(
        source=heard.source,
        seconds=heard.seconds,
        remarks=heard.remarks,
        alone=take.alone.number if take.alone else None,
        octave=aligned.octave,
        shift_cents=aligned.shift,
        first_s=float(seconds[0]) if len(seconds) else 0.0,
        step_s=HOP / RATE,
        hz=_shown(heard),
        tones=[_tone(*each) for each in zip(heard.tones, aligned.matches, strict=True)],
        left_out=[Unassigned(at_s=each.at, hz=each.hz, why=each.why) for each in heard.unheard],
    )


def _shown(heard: Heard) -> list[float | None]:
    """The pitch in time, where something sounds."""
    pairs = zip(heard.track.hz, heard.sounding, strict=True)
    return [round(float(hz), DIGITS) if inside else None for hz, inside in pairs]


def _tone(tone: Tone, match: Match) -> TakenTone:
    line = None if match.line is None else match.line.number
    return TakenTone(
        begin_s=tone.begin, end_s=tone.end, hz=tone.hz, sd_cents=tone.sd_cents, vibrato_cents=tone.vibrato_cents,
        slope_cents_per_s=tone.slope, other_hz=tone.other_hz, flags=list(tone.flags), line=line, why=match.why,
        doubtful=match.doubtful, by_hand=match.by_hand,
    )  # fmt: skip


def _take(kept: Taken, lines: list[Line]) -> Take:
    many = len(kept.hz)
    sounding = np.array([each is not None for each in kept.hz], bool)
    hz = np.array([each or 0.0 for each in kept.hz], float)
    track = Track(kept.first_s + kept.step_s * np.arange(many), hz, sounding.astype(float))
    tones = [
        Tone(
            each.begin_s, each.end_s, each.hz, each.sd_cents, each.vibrato_cents, each.slope_cents_per_s, each.other_hz,
            tuple(each.flags),
        )
        for each in kept.tones
    ]  # fmt: skip
    matches = [
        Match(None if each.line is None else lines[each.line], each.why, each.doubtful, each.by_hand)
        for each in kept.tones
    ]
    unheard = [Unheard(each.at_s or 0.0, each.hz, each.why) for each in kept.left_out]
    heard = Heard(kept.source, kept.seconds, kept.remarks, track, sounding, tones, unheard)
    alone = None if kept.alone is None else lines[kept.alone]
    return Take(heard, Alignment(matches, kept.octave, kept.shift_cents, 0.0), alone)
