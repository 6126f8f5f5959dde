"""Changes to files that nobody would make: to words and lines of a text, to values of JSON."""

import json
import re
from random import Random
from typing import Any

NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
ODD = ["0", "-1", "1e999", "nan", "-inf", "1e-320", "9" * 30, "[]", "{}", '""', "true", "[1, 0]", "[0, 1e9]", "\u2028",
       '"""',       "=", "[", "]", "{", "\\", "\r", "h01", "L1", "'", "#", ".", ","]  # fmt: skip
ODD_VALUES: list[Any] = [
    None,
    True,
    0,
    -1,
    1e14,
    -1e14,
    1e-300,
    2**60,
    "",
    " ",
    "t1",
    "../x",
    "\u2028",
    [],
    {},
    [[]],
    [0],
]


TIMES = (1, 1, 1, 2, 4)
"""How many changes are made at once."""


def changed_text(text: str, dice: Random) -> str:
    """A text changed in a place or some: numbers, words, lines left out, doubled or moved."""
    for _ in range(dice.choice(TIMES)):
        text = dice.choice([_number, _number, _line, _place])(text, dice)
    return text


def _number(text: str, dice: Random) -> str:
    spots = list(NUMBER.finditer(text))
    if not spots:
        return text
    spot = dice.choice(spots)
    scaled = float(spot[0]) * dice.choice([-1, 0.1, 0.5, 0.9, 1.01, 1.1, 2, 10, 1e3, 1e6])
    some = [dice.choice(ODD), f"{scaled:g}", str(dice.randint(-9, 9)), dice.choice(spots)[0]]
    return text[: spot.start()] + dice.choice(some) + text[spot.end() :]


def _line(text: str, dice: Random) -> str:
    lines = text.split("\n")
    here, there = dice.randrange(len(lines)), dice.randrange(len(lines))
    kept = [] if dice.random() < 0.5 else [lines[here]]
    lines[there:there] = [lines[here]]
    lines[here : here + 1] = kept
    return "\n".join(lines)


def _place(text: str, dice: Random) -> str:
    start = dice.randint(0, len(text))
    end = start + dice.randint(0, 12)
    letters = "".join(
        chr(dice.choice([dice.randrange(32, 127), dice.randrange(0xD800)])) for _ in range(dice.randint(0, 6))
    )
    return text[:start] + dice.choice([dice.choice(ODD), letters]) + text[end:]


def changed_bytes(data: bytes, dice: Random) -> bytes:
    """Bytes changed in a place or some: others, left out, doubled or moved."""
    found = bytearray(data)
    for _ in range(dice.choice(TIMES)):
        at = dice.randint(0, len(found))
        until = at + dice.choice([0, 1, 2, 4, dice.randint(0, 64)])
        some = found[at:until]
        other = dice.choice([
            bytes([dice.randrange(256)]), bytes(some) * 2, b"", bytes([dice.choice([0, 0xFF])]) * len(some),
            bytes(each ^ (1 << dice.randrange(8)) for each in some), dice.choice(ODD).encode(),
        ])  # fmt: skip
        if dice.random() < 0.2:
            at = until = dice.randint(0, len(found))
        found[at:until] = other
    return bytes(found)


def changed_json(text: str, dice: Random) -> str:
    """A text of JSON with one or some of its values others, left out or doubled; changed as a text where it is none."""
    try:
        data = json.loads(text)
    except (ValueError, RecursionError):
        return changed_text(text, dice)
    for _ in range(dice.choice(TIMES)):
        places = list(_places(data))
        if places:
            _other(*dice.choice(places), dice)
    return json.dumps(data)


def _places(data: Any, depth: int = 0) -> Any:
    """Every table or list of some JSON with each of its keys."""
    if depth < 50 and isinstance(data, dict | list):
        for key in list(data) if isinstance(data, dict) else range(len(data)):
            yield data, key
            yield from _places(data[key], depth + 1)


def _other(within: Any, key: Any, dice: Random) -> None:
    value = within[key]
    match dice.randrange(4):
        case 0:
            del within[key]
        case 1 if isinstance(within, list):
            within.insert(key, value)
        case 2 if isinstance(value, int | float) and not isinstance(value, bool):
            within[key] = dice.choice([-value, value + 1, 1e3 * value, dice.uniform(-10.0, 10.0)])
        case _:
            within[key] = dice.choice(ODD_VALUES)


def smallest(schema: dict[str, Any], all_of: dict[str, Any] | None = None) -> Any:
    """The plainest JSON that a JSON Schema asks for: what is needed, one entry in each list, each text a word."""
    all_of = all_of or schema
    if "$ref" in schema:
        return smallest(all_of["$defs"][schema["$ref"].rpartition("/")[2]], all_of)
    for key in ("const", "default"):
        if key in schema:
            return schema[key]
    if "enum" in schema:
        return schema["enum"][0]
    if "anyOf" in schema:
        return smallest(schema["anyOf"][0], all_of)
    match schema.get("type"):
        case "object":
            return {name: smallest(each, all_of) for name, each in schema.get("properties", {}).items()}
        case "array":
            return [smallest(each, all_of) for each in schema.get("prefixItems", [schema.get("items", {})])]
        case "string":
            return "t00001"
        case "boolean":
            return True
        case "integer" | "number":
            return schema.get("minimum", 1)
    return None
