"""A session of recordings as a measured instrument: every file heard, its tones assigned, their cents put together."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from optimizer.hearing.alignment import Alignment, as_one, in_any_order, in_order
from optimizer.hearing.drift import Reading, together
from optimizer.hearing.recording import read_recording
from optimizer.hearing.tones import Heard, Tone, heard
from optimizer.hearing.wanted import Line, line_of_file, lines_of
from optimizer.project.faults import Fault
from optimizer.records.layout import LayoutRecord
from optimizer.records.measurement import (
    CommonDeviations,
    Flag,
    MeasuredNote,
    MeasurementRecord,
    Unassigned,
    layout_mark,
)
from optimizer.words import counted, cut

MOST_FILES = 200
MOST_MINUTES = 90
MOST_TOLD = 12
RANGE = 2.1
"""By this ratio beyond the chart's pitches others are looked for."""

RANGE_HZ = (24.0, 4500.0)
AS_A_WHOLE = 35.0
"""Cents that a take may be off as a whole before it is asked about."""


@dataclass(frozen=True)
class Take:
    """A recording with what its tones are.

    Attributes
    ----------
    heard : what it holds
    alignment : what each of its tones is
    alone : the note that its file is named after
    """

    heard: Heard
    alignment: Alignment
    alone: Line | None


@dataclass(frozen=True)
class Session:
    """All recordings of an instrument, and what they say of it."""

    takes: list[Take]
    measurement: MeasurementRecord


def measured(
    record: LayoutRecord,
    files: Sequence[Path],
    order: Sequence[Line] = (),
    a4_hz: float | None = None,
    bell_degC: float | None = None,
    bell_sd_K: float = 1.0,
) -> Session:
    """Hear recordings of an instrument.

    Parameters
    ----------
    record : the layout that was built
    files : each one a take of several notes, or named after the one note that it holds
    order : notes in the order they were played in each take; without it the nearest ones are taken
    a4_hz : pitch of A4 that cents are counted from; default: the layout's
    bell_degC, bell_sd_K : air at the bell end meanwhile, where it was taken, and its deviation

    Raises
    ------
    Fault
        with every recording that cannot be heard, and where none holds a tone
    """
    a4 = a4_hz or record.reference.a4_hz
    return told_together(record, _takes(files, lines_of(record, a4), order), a4, bell_degC, bell_sd_K)


def told_together(
    record: LayoutRecord, takes: list[Take], a4_hz: float, bell_degC: float | None, bell_sd_K: float
) -> Session:
    """What takes say of an instrument together, whatever their tones were taken for; see `measured`."""
    notes, told = _notes(lines_of(record, a4_hz), takes)
    measurement = MeasurementRecord(
        instrument=record.instrument,
        source=cut(f"recording{'' if len(takes) == 1 else 's'} {', '.join(take.heard.source for take in takes)}"),
        layout=record.id,
        layout_mark=layout_mark(record),
        a4_hz=a4_hz,
        temperament=record.reference.temperament,
        temperature_degC=bell_degC,
        common=CommonDeviations(temperature_K=None if bell_degC is None else bell_sd_K),
        notes=notes,
        unassigned=[each for take in takes for each in _unassigned(take, len(takes) > 1)],
        remarks=[each for take in takes for each in _remarks(take)] + told,
    )
    return Session(takes, measurement)


def _takes(files: Sequence[Path], lines: Sequence[Line], order: Sequence[Line]) -> list[Take]:
    """Every file heard, one after the other.

    Raises
    ------
    Fault
        with all that cannot be heard, and where none holds a tone
    """
    if len(files) > MOST_FILES:
        raise Fault(f"{len(files)} recordings are more than the {MOST_FILES} that are heard at once")
    expected = [line.expected_hz for line in lines]
    low, high = max(min(expected) / RANGE, RANGE_HZ[0]), min(max(expected) * RANGE, RANGE_HZ[1])
    takes, faults, seconds = list[Take](), list[str](), 0.0
    for file in files:
        try:
            recording = read_recording(file)
        except Fault as fault:
            faults += fault.problems
            continue
        seconds += recording.seconds
        if seconds > MOST_MINUTES * 60:
            raise Fault(f"the recordings last more than the {MOST_MINUTES} minutes that are heard at once")
        if not faults:
            found = heard(recording, low, high)
            alone = line_of_file(file, lines)
            takes.append(Take(found, _aligned(found.tones, lines, order, alone), alone))
    if faults:
        raise Fault(*faults)
    if not any(take.heard.tones for take in takes):
        why = [f"{take.heard.source}: at {each.at:.1f} s {each.why}" for take in takes for each in take.heard.unheard]
        raise Fault("no tone was heard: none holds its pitch for half a second or more", *why[:MOST_TOLD])
    return takes


def _aligned(tones: Sequence[Tone], lines: Sequence[Line], order: Sequence[Line], alone: Line | None) -> Alignment:
    hz = np.array([tone.hz for tone in tones])
    if not len(hz):
        return Alignment([], 0, 0.0, 0.0)
    if alone is not None:
        return as_one(hz, alone)
    if order:
        return in_order(hz, order)
    found = in_any_order(hz, lines)
    doubted = [  # nothing but the pitch itself says which note it is
        replace(match, doubtful=match.doubtful or tone.octave_alarm)
        for match, tone in zip(found.matches, tones, strict=True)
    ]
    return replace(found, matches=doubted)


def _readings(takes: Sequence[Take]) -> tuple[list[Reading], list[tuple[Tone, bool]]]:
    """All tones with a line: what each reads, and the tone with whether its octave is in doubt."""
    readings, tones = list[Reading](), list[tuple[Tone, bool]]()
    for number, take in enumerate(takes):
        for tone, match in zip(take.heard.tones, take.alignment.matches, strict=True):
            if match.line is None:
                continue
            cents = 1200.0 * np.log2(tone.hz / match.line.wanted_hz) - 1200.0 * take.alignment.octave
            if match.doubtful or match.by_hand:
                cents -= 1200.0 * round((cents - take.alignment.shift) / 1200.0)
            alone = take.alone is not None
            readings.append(Reading(match.line.number, number, tone.begin, float(cents), alone))
            tones.append((tone, match.doubtful))
    return readings, tones


def _notes(lines: Sequence[Line], takes: Sequence[Take]) -> tuple[list[MeasuredNote], list[str]]:
    """Every line of the chart that was heard, and what is to be said of the takes together."""
    readings, tones = _readings(takes)
    joined = together(readings)
    heard_of: dict[int, list[tuple[Tone, float, bool]]] = {}
    for reading, cents, (tone, doubtful) in zip(readings, joined.cents, tones, strict=True):
        heard_of.setdefault(reading.line, []).append((tone, float(cents), doubtful))
    found = [_note(line, heard_of[line.number], joined.between) for line in lines if line.number in heard_of]
    return found, joined.told


def _note(line: Line, tones: Sequence[tuple[Tone, float, bool]], between: float) -> MeasuredNote:
    """A line of the chart from its tones, each with its cents and whether its octave is in doubt; those with a flag
    that others lack count only where there are no others."""
    sound = [each for each in tones if not _flags(each[0], each[2]) - {"unsteady"}] or list(tones)
    cents = [value for _, value, _ in sound]
    fit = np.mean([tone.sd_cents**2 for tone, _, _ in sound])
    flags = {flag for tone, _, doubtful in sound for flag in _flags(tone, doubtful)}
    return MeasuredNote(
        line=line.number,
        written=line.written,
        fingering=line.fingering,
        register_number=line.register_number,
        cents=float(np.mean(cents)),
        sd_cents=max(float(np.sqrt((between**2 + fit) / len(cents))), 0.01),
        takes=cents,
        vibrato_cents=float(np.mean([tone.vibrato_cents for tone, _, _ in sound])),
        slope_cents_per_s=float(np.mean([tone.slope for tone, _, _ in sound])),
        flags=sorted(flags),
    )


def _flags(tone: Tone, doubtful: bool) -> set[Flag]:
    found: set[Flag] = set(tone.flags)
    if doubtful:
        found.add("octave doubtful")
    return found


def _unassigned(take: Take, several: bool) -> list[Unassigned]:
    """What of a take is no note of the chart, in order of time."""
    source = f" ({take.heard.source})" if several else ""
    found = [Unassigned(at_s=each.at, hz=each.hz, why=each.why + source) for each in take.heard.unheard]
    for tone, match in zip(take.heard.tones, take.alignment.matches, strict=True):
        if match.line is None:
            found.append(Unassigned(at_s=tone.begin, hz=tone.hz, why=match.why + source))
    return sorted(found, key=lambda each: each.at_s or 0.0)


def _remarks(take: Take) -> list[str]:
    """What is odd about a take as a whole."""
    told, name, aligned = list(take.heard.remarks), take.heard.source, take.alignment
    if aligned.octave:
        where = "above" if aligned.octave > 0 else "below"
        octaves = counted(abs(aligned.octave), "octave")
        told.append(f"{name} as a whole sounds {octaves} {where} the chart; it was taken for that")
    if abs(aligned.shift) > AS_A_WHOLE and take.alone is None:
        told.append(
            f"{name} as a whole lies {aligned.shift:+.0f} cents from the prediction: another A4, other air, or another "
            "reed?"
        )
    return told
