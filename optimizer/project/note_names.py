"""Names of notes as a project writes them: `note_names` in `[chart]` says which, and notes come out as they went in.

| `note_names` | middle C, the A of 440 Hz, and the black key below it | the white key below middle C, and its flat |
|---|---|---|
| `"english"` | C4, A4, G#4 or Ab4 | B3, Bb3 |
| `"german"` | C4, A4, Gis4 or As4 | H3, B3 |
| `"helmholtz"` | c', a', gis' or as' (c1, a1 will do) | h, b |

Octaves: ISO 16 calls 440 Hz A4, Helmholtz (*Die Lehre von den Tonempfindungen*, 1863) a'; capital letters are his great
octave, C to H of C2 to B2, with , or a digit behind them the contra octaves below (C, or C1).
"""

import re
from collections.abc import Iterable
from typing import Literal

from acoustics.pitch import midi_number, note_name

NamesOfNotes = Literal["english", "german", "helmholtz"]

_GERMAN = re.compile(r"([A-Ha-h])(is|es|s)?(.*)")
_LETTERS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "H": 11, "B": 10}
_ENDINGS = {"": 0, "is": 1, "es": -1, "s": -1}
_SHARPS = ("C", "Cis", "D", "Dis", "E", "F", "Fis", "G", "Gis", "A", "Ais", "H")
_FLATS = ("C", "Des", "D", "Es", "E", "F", "Ges", "G", "As", "A", "B", "H")
_ENGLISH_FLATS = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")
_LIKE = {"english": "C4, F#4 or Bb3", "german": "C4, Fis4 or B3 (Bb in English)", "helmholtz": "c', fis' or B (Bb2)"}


def number_of(name: str, names: str = "english") -> int:
    """MIDI key number of a note by its name (C4, c' = 60).

    Parameters
    ----------
    name : as written
    names : one of `NamesOfNotes`

    Raises
    ------
    ValueError
        where it is no name of that kind; the message asks for what it is likely to mean
    """
    found = _english(name) if names == "english" else _german(name, names == "helmholtz")
    if found is None:
        raise ValueError(f"a note must read like {_LIKE[names]}, but got {name!r}{_asked(name, names)}")
    return found


def name_of(midi: int, names: str = "english", flats: bool = False) -> str:
    """Name of a MIDI key number, black keys as sharps or as flats."""
    step, octave = midi % 12, midi // 12 - 1
    if names == "english":
        return f"{_ENGLISH_FLATS[step]}{octave}" if flats else note_name(midi)
    letters = (_FLATS if flats else _SHARPS)[step]
    if names == "german":
        return f"{letters}{octave}"
    return f"{letters.lower()}{chr(39) * (octave - 3)}" if octave > 2 else f"{letters}{',' * (2 - octave)}"


def prefers_flats(written: Iterable[str], names: str) -> bool:
    """Whether more of some names are flats than sharps."""
    flats = sharps = 0
    for name in written:
        flat = _ENGLISH_FLATS if names == "english" else _FLATS
        sharp = tuple(note_name(step)[:-2] for step in range(12)) if names == "english" else _SHARPS
        letters = re.sub(r"[-\d',]", "", name.replace("♭", "b").replace("♯", "#")).capitalize()
        flats += letters in flat and letters not in sharp
        sharps += letters in sharp and letters not in flat
    return flats > sharps


def _english(name: str) -> int | None:
    try:
        return midi_number(name.replace("♯", "#").replace("♭", "b"))
    except ValueError:
        return None


def _german(name: str, helmholtz: bool) -> int | None:
    found = _GERMAN.fullmatch(name)
    if found is None:
        return None
    letter, ending, mark = found[1].upper(), found[2] or "", found[3]
    flat = ending in ("s", "es")
    if (letter == "B" and ending) or (flat and (ending == "s") != (letter in "AE")):
        return None
    octave = _strokes(found[1], mark) if helmholtz else _digits(found[1], mark)
    return None if octave is None else 12 * (octave + 1) + _LETTERS[letter] + _ENDINGS[ending]


def _digits(letter: str, mark: str) -> int | None:
    return int(mark) if letter.isupper() and re.fullmatch(r"-?\d", mark) else None


def _strokes(letter: str, mark: str) -> int | None:
    if letter.islower() and re.fullmatch(r"['’]*|[1-6]", mark):
        return 3 + (int(mark) if mark.isdigit() else len(mark))
    if letter.isupper() and re.fullmatch(r",*|[1-2]", mark):
        return 2 - (int(mark) if mark.isdigit() else len(mark))
    return None


def _asked(name: str, names: str) -> str:
    """The end of a sentence that asks which note is meant."""
    if names != "english" and _english(name) is not None:
        return f"; did you mean {name_of(midi_number(name), names, 'b' in name)}? It is an English name"
    if names == "english":
        small = name[:1].upper() + name[1:]
        if small != name and _english(small) is not None:
            return f"; did you mean {small}?"
        for other, what in (("german", "German"), ("helmholtz", "Helmholtz")):
            meant = _german(name, other == "helmholtz")
            if meant is not None:
                ours = name_of(meant, flats=prefers_flats([name], other))
                return f'; {name} is a {what} name: write {ours}, or note_names = "{other}" in [chart]'
    return ""
