"""Notes of a chart that are likely mistaken: what the bore cannot sound, and what goes against the other lines.

Opening holes lowers no resonance of a given number, and a higher resonance lies no lower than a lower one (Rayleigh,
*The Theory of Sound*, vol. 1, 1877: a constraint more lowers no natural frequency); so a note with the same holes open
and more, in a register no lower, is not much lower than another.
"""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from optimizer.project.bore import BoreSection
from optimizer.project.chart import ChartNote
from optimizer.project.findings import Suspicion, at
from optimizer.project.model import Hole
from optimizer.project.note_names import name_of, prefers_flats
from optimizer.project.numbers import MM_IN

SLACK_SEMITONES = 3.0
"""So far a note may lie beyond what the bore alone sounds, for closed holes and reed, or below one with less open."""

SPEED = 331.45
"""Of sound in dry air at 0 degC [m/s]."""

VENT_SEMITONES = 10.0
"""So far no vent moves a resonance within its register."""


def chart_suspicions(sections: Mapping[str, Any], notes: Sequence[ChartNote]) -> list[Suspicion]:
    """Likely mistakes of notes and of the transposition."""
    if not notes or not {"instrument", "air", "reed", "bore", "holes"} <= sections.keys():
        return []
    return [*_odd_lines(sections["holes"], notes, _Names(sections, notes)), *(_whole(sections, notes))]


def bare_bore(sections: Mapping[str, Any]) -> tuple[float, float]:
    """Lowest and highest first resonance that bore and reed may have with all holes closed, as MIDI key numbers:
    without losses, and as if there were no holes."""
    from acoustics.plain_duct import PlainDuct
    from acoustics.reed import Reed
    from acoustics.resonances import spectrum

    bore: BoreSection = sections["bore"]
    air, reed = sections["air"], sections["reed"]
    warmth = 0.5 * (air.reed_degC + air.bell_degC)
    found = []
    for end, volume, scale in zip(
        reversed(bore.end_span_mm), reversed(reed.volume_cm3), bore.diameter_scale, strict=True
    ):
        places, widths = np.array(bore.points_mm).T
        (s0, d0), (s1, d1) = bore.points_mm[-2:]
        inside = places < end
        last = d0 + (d1 - d0) * (end - s0) / (s1 - s0)
        profile = [*zip(places[inside], 0.5 * scale * widths[inside], strict=True), (end, 0.5 * scale * last)]
        wall = [(place, radius + bore.wall_mm) for place, radius in profile]
        duct = PlainDuct(profile, wall, sound_speed=SPEED * float(np.sqrt(1.0 + warmth / 273.15)), lossless=True).duct
        none, endless = np.zeros(()), np.asarray(np.inf)
        duct = duct._replace(reed=Reed(np.asarray(volume * 1e-6), endless, none, endless, none))
        span = SPEED / (end * 1e-3)  # a tube closed at the reed sounds a quarter of this, a cone half, volume takes off
        heard = spectrum(duct, np.zeros((1, 0)), 0.1 * span, 0.7 * span, step_cents=30.0, lossless=True)[0].frequency
        found.append(69.0 + 12.0 * float(np.log2(heard[0] / sections["scale"].a4_hz)) if len(heard) else np.nan)
    return min(found), max(found)


def _whole(sections: Mapping[str, Any], notes: Sequence[ChartNote]) -> list[Suspicion]:
    """A chart whose lowest note lies elsewhere than what the bore sounds with all holes closed."""
    lowest = min((note for note in notes if not note.alternate), key=lambda note: note.midi, default=None)
    if lowest is None or lowest.register != 1 or "scale" not in sections:
        return []
    shift = sections["instrument"].transposition_semitones
    least, most = bare_bore(sections)
    written, names = lowest.midi, _Names(sections, notes)
    shut = not any(openness for openness, hole in zip(lowest.openness, sections["holes"], strict=True))

    def fits(sounding: float) -> bool:
        return sounding > least - SLACK_SEMITONES and (not shut or sounding < most + SLACK_SEMITONES)

    if np.isnan(least) or fits(written + shift):
        return []
    low, high = sections["bore"].end_span_mm
    length = f"{low:g}" if low == high else f"{low:g} to {high:g}"
    said = (
        f"{shift} makes {lowest.written} sound {names.of(written + shift)}, but with all holes closed a bore of "
        f"{length} mm sounds {names.between(least, most)}"
    )
    if fits(written - shift):
        return [_about_transposition(f"{said}; did you mean {-shift}?")]
    octave = next((way for way in (-12, 12) if fits(written + shift + way)), None)
    if octave:
        other = f"write the chart an octave {'lower' if octave < 0 else 'higher'}"
        return [_about_transposition(f"{said}; did you mean {shift + octave}? Or {other}")]
    for unit in ("cm", "in", "m"):
        if least - SLACK_SEMITONES < written + shift + 12.0 * np.log2(MM_IN[unit]) < most + SLACK_SEMITONES:
            return [Suspicion(at("bore.points_mm", f"{said[said.index('with'):]}, and {lowest.written} is to sound "
                                 f"{names.of(written + shift)}; are these lengths written in {unit}?"))]  # fmt: skip
    return [_about_transposition(f"{said}; look at transposition, chart and bore")]


def _about_transposition(said: str) -> Suspicion:
    return Suspicion(at("instrument.transposition_semitones", said))


class _Names:
    """How a project names notes."""

    def __init__(self, sections: Mapping[str, Any], notes: Sequence[ChartNote]) -> None:
        self.names = sections["chart"].note_names if "chart" in sections else "english"
        self.flats = prefers_flats((note.written for note in notes), self.names)

    def of(self, midi: float) -> str:
        """A key's name."""
        return name_of(round(midi), self.names, self.flats)

    def between(self, least: float, most: float) -> str:
        """Two keys' names, or one for both."""
        low, high = self.of(least), self.of(most)
        return f"about {low}" if low == high else f"{low} to {high}"


def _odd_lines(holes: Sequence[Hole], notes: Sequence[ChartNote], names: _Names) -> list[Suspicion]:
    """Lines that go against others, and with all of them in another octave or register."""
    pitch = np.array([note.midi for note in notes], float)
    register = np.array([note.register for note in notes])
    openness = np.array([note.openness for note in notes], float)
    vents = np.array([hole.role == "vent" for hole in holes], bool)
    against = [_against(line, pitch, register, openness, vents) for line in range(len(notes))]
    found = []
    while any(len(others) for others in against):
        line = max(
            range(len(notes)), key=lambda each: (len(against[each]), _mends(each, pitch, register, openness, vents))
        )
        ways = _ways(line, names, pitch, register, openness, vents)
        if not ways:
            break
        other = notes[sorted(against[line])[0]]
        said = (
            f"{notes[line].label} (in register {notes[line].register} on {notes[line].touches!r}) goes against "
            f"{other.label} in register {other.register} on {other.touches!r}: more holes open sound no lower, and a "
            f"vent no octave higher in one register; did you mean {' or '.join(ways)}?"
        )
        twice = f"chart.lines: {notes[line].written} stands twice*"
        found.append(Suspicion(at("chart.lines", said, row=notes[line].row), (twice,)))
        against = [others - {line} if each != line else set() for each, others in enumerate(against)]
    return found


def _against(line: int, pitch: Any, register: Any, openness: Any, vents: Any) -> set[int]:
    """Lines that one cannot go with."""
    more = (openness >= openness[line]).all(axis=1) & (register >= register[line])
    less = (openness <= openness[line]).all(axis=1) & (register <= register[line])
    same = (openness[:, ~vents] == openness[line, ~vents]).all(axis=1) & (register == register[line])
    step = pitch - pitch[line]
    wrong = (
        (more & (step <= -SLACK_SEMITONES))
        | (less & (step >= SLACK_SEMITONES))
        | (same & (abs(step) >= VENT_SEMITONES))
    )
    return {int(other) for other in np.flatnonzero(wrong) if other != line}


def _mended(line: int, pitch: Any, register: Any, semitones: float, steps: int) -> tuple[Any, Any]:
    other_pitch, other_register = pitch.copy(), register.copy()
    other_pitch[line] += semitones
    other_register[line] += steps
    return other_pitch, other_register


def _ways(line: int, names: _Names, pitch: Any, register: Any, openness: Any, vents: Any) -> list[str]:
    """Octaves and registers in which a line goes with all others."""
    ways = []
    for semitones, steps in ((-12, 0), (12, 0), (0, 1), (0, -1)):
        mended = _mended(line, pitch, register, semitones, steps)
        taken = ((mended[0] == mended[0][line]) & (mended[1] == mended[1][line])).sum() > 1
        if mended[1][line] > 0 and not taken and not _against(line, *mended, openness, vents):
            ways.append(names.of(mended[0][line]) if semitones else f"register {mended[1][line]}")
    return ways


def _mends(line: int, pitch: Any, register: Any, openness: Any, vents: Any) -> int:
    """How many of the four ways settle a line, as a tie between two lines is told apart."""
    count = 0
    for semitones, steps in ((-12, 0), (12, 0), (0, 1), (0, -1)):
        mended = _mended(line, pitch, register, semitones, steps)
        count += bool(mended[1][line] > 0 and not _against(line, *mended, openness, vents))
    return count
