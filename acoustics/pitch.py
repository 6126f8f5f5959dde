"""Pitch: note names, cents and hertz, temperaments as tables.

Scientific pitch names: C4 is middle C, A4 the reference note (ISO 16:1975 fixes A4 = 440 Hz). Sharps are written
`#`, flats `b`; both spellings name the same key.
"""

import itertools
import math
import re

_STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
_PURE_FIFTH = 1200.0 * math.log2(3.0 / 2.0)
_PYTHAGOREAN_COMMA = 12.0 * _PURE_FIFTH - 7.0 * 1200.0
_SYNTONIC_COMMA = 1200.0 * math.log2(81.0 / 80.0)


def _from_fifths(tempering: dict[str, float]) -> tuple[float, ...]:
    """Cents above C of the twelve keys, from fifths up from E flat, each narrowed by its tempering [cents]."""
    chain = ("D#", "A#", "F", "C", "G", "D", "A", "E", "B", "F#", "C#", "G#")
    cents = {chain[0]: 0.0}
    for lower, upper in itertools.pairwise(chain):
        cents[upper] = cents[lower] + _PURE_FIFTH - tempering.get(lower, 0.0)
    return tuple((cents[name] - cents["C"]) % 1200.0 for name in _NAMES)


TEMPERAMENTS: dict[str, tuple[float, ...]] = {
    "equal": tuple(100.0 * step for step in range(12)),
    "meantone": _from_fifths(dict.fromkeys(_NAMES, _SYNTONIC_COMMA / 4)),
    "vallotti": _from_fifths(dict.fromkeys(("F", "C", "G", "D", "A", "E"), _PYTHAGOREAN_COMMA / 6)),
    "werckmeister": _from_fifths(dict.fromkeys(("C", "G", "D", "B"), _PYTHAGOREAN_COMMA / 4)),
}
"""Cents above C of the twelve keys. Sources: quarter-comma meantone, E flat to G sharp (Aaron 1523); Vallotti 1779:
six fifths F to B narrow by a sixth of the Pythagorean comma; Werckmeister III (1691): C-G-D-A and B-F# by a quarter."""


def midi_number(note: str) -> int:
    """MIDI key number of a note name such as `F#4` or `Bb3` (C4 = 60).

    Raises
    ------
    ValueError
        if the name is not a letter A to G, up to one accidental, and an octave number
    """
    match = re.fullmatch(r"([A-G])([#b]?)(-?\d)", note)
    if match is None:
        raise ValueError(f"a note must read like C4, F#4 or Bb3, but got {note!r}")
    letter, accidental, octave = match.groups()
    return _STEPS[letter] + {"#": 1, "b": -1, "": 0}[accidental] + 12 * (int(octave) + 1)


def note_name(midi: int) -> str:
    """Name of a MIDI key number, black keys as sharps."""
    return f"{_NAMES[midi % 12]}{midi // 12 - 1}"


def note_frequency(midi: int, a4_hz: float = 440.0, temperament: str = "equal") -> float:
    """Frequency [Hz] of a sounding key; the temperament is pinned at A.

    Parameters
    ----------
    midi : MIDI key number, 69 for A4
    a4_hz : frequency of A4 [Hz]
    temperament : one of `TEMPERAMENTS`

    Raises
    ------
    KeyError
        if the temperament is not in `TEMPERAMENTS`
    """
    table = TEMPERAMENTS[temperament]
    cents = table[midi % 12] - table[9] + 1200.0 * (midi // 12 - 69 // 12)
    return a4_hz * float(2.0 ** (cents / 1200.0))


def cents_between(f: float, reference: float) -> float:
    """Interval [cents] from reference up to f, both in one unit."""
    return 1200.0 * math.log2(f / reference)
