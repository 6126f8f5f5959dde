"""What a value that will not do is likely meant to be: asked at the end of a sentence, never taken.

A guess is told only where the key would take it: numbers in quotes, with a decimal comma or with their unit behind
them, lengths in centimetres or metres, temperatures in Fahrenheit or kelvin, percentages as shares and the reverse.
"""

import math
import re
from collections.abc import Iterator
from typing import Annotated, Any

from pydantic import TypeAdapter, ValidationError
from pydantic.fields import FieldInfo

from optimizer.project.numbers import MM_IN

_NUMBER = r"[+-]?\d+(?:[.,]\d+)?"
_MEASURED = re.compile(rf"({_NUMBER})\s*([^\d\s,.]*)")
_RANGE = re.compile(rf"\[?\s*({_NUMBER})\s*(?:-|–|\.\.\.?|…|to|bis|;|, )\s*({_NUMBER})\s*\]?")
_LIKE_ONE = str.maketrans({"I": "1", "l": "1", "|": "1", "i": "1", "!": "1"})
_SIDES = {"left": "L", "links": "L", "right": "R", "rechts": "R"}
_FINGERS = {"thumb": "T", "daumen": "T", "index": "1", "middle": "2", "ring": "3", "little": "4", "pinky": "4"}


def asked(name: str, value: Any, field: FieldInfo | None) -> str:
    """The end of a sentence about a value that asks for the likeliest that its key takes; empty where none is.

    Parameters
    ----------
    name : of the key, whose ending is the unit
    value : what was read
    field : what the key takes; None where it is not known, then any number will do
    """
    for guess, why in _guesses(name, value):
        if _taken(field, guess):
            return f"; did you mean {written(guess)}{why}?"
    return ""


def written(value: Any) -> str:
    """A value as TOML has it."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return f"[{', '.join(map(written, value))}]"
    return f"{value:.6g}" if isinstance(value, int | float) else repr(value)


def finger_meant(text: str) -> str | None:
    """The fingers that a text is likely to name: `LI` or `l1` for L1, `L1-3` for L123, `left thumb` for LT."""
    words = re.findall(r"[a-z]+", text.lower())
    sides, fingers = [_SIDES[w] for w in words if w in _SIDES], [_FINGERS[w] for w in words if w in _FINGERS]
    if len(sides) == len(fingers) == 1:
        return sides[0] + fingers[0]
    plain = re.sub(r"[\s,_.+]", "", text)
    side, rest = plain[:1].upper(), plain[1:].upper() if plain[1:].upper() == "T" else plain[1:].translate(_LIKE_ONE)
    if side.isdigit():
        side, rest = plain[-1:].upper(), plain[:-1]
    if side not in ("L", "R"):
        return None
    run = re.fullmatch(r"([1-4])[-–]([1-4])", rest)
    if run and run[1] < run[2]:
        rest = "".join(map(str, range(int(run[1]), int(run[2]) + 1)))
    rest = re.sub(r"[lr]", "", rest, flags=re.IGNORECASE) if re.fullmatch(rf"[1-4](?:{side}[1-4])+", rest) else rest
    return side + rest if re.fullmatch(r"T|[1-4]+", rest) else None


def _taken(field: FieldInfo | None, guess: Any) -> bool:
    """Whether a key takes a value."""
    if field is None:
        return isinstance(guess, int | float) and not isinstance(guess, bool)
    kind: Any = Annotated[field.annotation, field] if field.metadata else field.annotation
    try:
        TypeAdapter(kind).validate_python(guess)
    except ValidationError:
        return False
    return True


def _guesses(name: str, value: Any) -> Iterator[tuple[Any, str]]:
    """What a value may have been meant to be, and why, the likeliest first."""
    if isinstance(value, bool):
        return
    if isinstance(value, str):
        yield from _from_text(name, value.strip())
    elif isinstance(value, int | float) and math.isfinite(value):
        yield from conversions(name, value)
    elif isinstance(value, list):
        yield from _from_list(name, value)


def _from_text(name: str, text: str) -> Iterator[tuple[Any, str]]:
    measured, span = _MEASURED.fullmatch(text), _RANGE.fullmatch(text)
    if measured:
        number = _number(measured[1])
        yield number * (MM_IN.get(measured[2], 1.0) if name.endswith("_mm") else 1.0), ", without quotes"
        yield from conversions(name, number)
    if span:
        yield [_number(span[1]), _number(span[2])], ", without quotes"
    if text.lower() in ("true", "yes", "ja", "false", "no", "nein"):
        yield text.lower() in ("true", "yes", "ja"), ", without quotes"


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def conversions(name: str, value: float) -> Iterator[tuple[float, str]]:
    """A number in the unit that its key's name says, for each other one that it may be written in."""
    if name.endswith("_mm"):
        yield from ((value * MM_IN[unit], f" ({value:g} {unit})") for unit in ("cm", "m"))
    elif name.endswith("_degC"):
        yield round((value - 32.0) / 1.8, 1), f" ({value:g} in Fahrenheit)"
        yield round(value - 273.15, 1), f" ({value:g} K)"
    elif name.endswith("_percent"):
        yield 100.0 * value, f" ({value:g} as a share)"
    elif name == "a4_hz":
        yield 1000.0 * value, f" ({value:g} kHz)"
        if abs(value) <= 100.0:
            yield round(440.0 * 2.0 ** (value / 1200.0), 2), f" ({value:g} cents above 440)"
    elif name.endswith("_hz"):
        yield 1000.0 * value, f" ({value:g} kHz)"
    elif name.endswith(("_ratio", "_share", "_scale", "_diameter", "damping")) and value > 3.0:
        yield value / 100.0, f" ({value:g} %)"


def _from_list(name: str, value: list[Any]) -> Iterator[tuple[Any, str]]:
    """Numbers that a decimal comma has torn in two: what stands behind it is one digit long."""
    if not all(isinstance(item, int) and not isinstance(item, bool) for item in value):
        if len(value) == 2:
            mended = [_one(name, item) for item in value]
            if None not in mended:
                yield mended, ", without quotes"
        return
    if len(value) == 4 and 0 <= value[1] <= 9 and 0 <= value[3] <= 9:
        yield [value[0] + value[1] / 10, value[2] + value[3] / 10], ", with decimal points"
    if len(value) == 3 and 0 <= value[1] <= 9 and name:
        yield [value[0] + value[1] / 10, value[2]], ", with a decimal point"
    if len(value) == 3 and 0 <= value[2] <= 9:
        yield [value[0], value[1] + value[2] / 10], ", with a decimal point"


def _one(name: str, item: Any) -> float | None:
    """A number that is written as a text."""
    if isinstance(item, str):
        return next((guess for guess, _ in _from_text(name, item) if isinstance(guess, float)), None)
    return item if isinstance(item, int | float) and not isinstance(item, bool) else None
