"""Families of fingerings, each a file of its own, and what of a family an instrument takes that has not all of it."""

import re
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from importlib.resources import files
from typing import Any

from optimizer.beginning.answers import Answers, FamilyName
from optimizer.project.note_names import number_of

Entry = Mapping[str, Any]


@dataclass(frozen=True)
class Line:
    """A line of the chart: semitones above the lowest note, register, and what is pressed or the pattern of holes."""

    semitones: int
    register: int
    pressed: str
    option: bool


@dataclass(frozen=True)
class Family:
    """A family as far as an instrument takes it: names of notes are put in, what no line needs is gone.

    Attributes
    ----------
    told : how the family's file begins
    holes, keys : by id, from the bell up, in the words of the project file; `gives` of a hole is the note that first
        sounds when it opens, in semitones above the lowest
    lines : of the chart
    chart : its other keys
    """

    told: Mapping[str, Any]
    holes: Mapping[str, Entry]
    keys: Mapping[str, Entry]
    lines: Sequence[Line]
    chart: Mapping[str, Any]


def family_file(name: FamilyName) -> dict[str, Any]:
    """What the file of a family says."""
    return tomllib.loads((files("optimizer.beginning") / "families" / f"{name}.toml").read_text("utf-8"))


def family_of(answers: Answers, name_of: Callable[[int], str], sounding: int, most: int) -> Family:
    """The family of an instrument.

    Parameters
    ----------
    answers : which family, and what of it
    name_of : name of the note so many semitones above the lowest
    sounding : MIDI key number of the lowest sounding note
    most : semitones of its range
    """
    data = _vented_as(family_file(answers.family), sounding)
    taken = {"forks" if answers.forks else "no forks", "rows" if answers.rows else "fingers"}

    def named(text: str) -> str:
        return re.sub(r"\{(\d+)\}", lambda found: re.sub(r"[-\d',]", "", name_of(int(found[1]))), text)

    def there(entry: Entry) -> bool:
        return "when" not in entry or entry["when"] in taken

    side = {named(key["id"]) for key in data["keys"] if key.get("side")} if not answers.side_keys else set()
    keys = {named(key["id"]): key for key in data["keys"] if there(key) and named(key["id"]) not in side}
    lines = _lines(named(data["chart"]["lines"]), taken, answers, most)
    lines = [line for line in lines if not side & set(line.pressed.split())]
    if "kLT" in keys:  # a thumb with two keys rests on neither, so that a chart names which it presses
        lines = [replace(line, pressed=re.sub(r"\bLT\b", "kLT", line.pressed)) for line in lines]
    chart = {name: value for name, value in data["chart"].items() if name != "lines"}
    if "order" not in chart:
        keys = _needed(keys, lines)
    holes = _holes({name: hole for name, hole in data["holes"].items() if there(hole)}, keys, answers)
    if "order" in chart and not answers.vents:
        kept = [name for name in chart["order"] if name in holes]
        lines = [replace(line, pressed=line.pressed.split()[0]) for line in lines]
        chart["order"] = kept
    return Family(data, holes, _worked(keys, holes, answers), lines, chart)


def _vented_as(data: dict[str, Any], sounding: int) -> dict[str, Any]:
    """A family's file with as many vents as so low a note asks for: one, or two where the family has them.

    One vent opened for all of an overblown register lies far from where most of its notes want it, and pulls them up
    the more the lower and wider an instrument is.
    """
    if "two_vents" not in data:
        return data
    two, chart = data["two_vents"], data["chart"]
    if sounding < number_of(two["below"]):
        return data | {"vent_shares": {name: share for name, share in two.items() if name != "below"}}
    return data | {"chart": chart | {"lines": re.sub(r"\bRg2\b", "Rg", chart["lines"])}}


def _lines(text: str, taken: set[str], answers: Answers, most: int) -> list[Line]:
    """The chart's lines within the notes that are wanted; without vents the first register's alone."""
    found = []
    for each in text.strip().splitlines():
        said, _, when = each.partition(" when ")
        semitones, register, pressed = re.split(r"\s+", said.strip(), maxsplit=2)
        line = Line(int(semitones), int(register), pressed.removesuffix("option").strip(), pressed.endswith("option"))
        sounds = answers.vents or (line.register == 1 and not _vented(line))
        if sounds and line.semitones < most and (not when or when.strip() in taken):
            found.append(line)
    return found


def _vented(line: Line) -> bool:
    """Whether a line opens a vent."""
    return bool({"V1", "V2", "Rg", "Rg2"} & set(line.pressed.split()))


def _needed(keys: Mapping[str, Entry], lines: Sequence[Line]) -> dict[str, Entry]:
    """The keys that a line names, that fingers rest on, and links."""
    pressed = {name for line in lines for name in line.pressed.split()}
    return {
        name: key
        for name, key in keys.items()
        if name in pressed or "moved_by" in key or (key.get("when") == "rows" and not name.startswith("k{"))
    }


def _holes(holes: Mapping[str, Entry], keys: Mapping[str, Entry], answers: Answers) -> dict[str, Entry]:
    """The holes that something opens, or that rest open; in rows every one is worked by a key."""
    opened = {name for key in keys.values() for name in key.get("opens", ())}
    closed = {name for key in keys.values() for name in key.get("closes", ())}
    found: dict[str, Entry] = {}
    for name, hole in holes.items():
        keyed = hole["by"] == "key" or (answers.rows and bool(keys))
        if keyed and name not in opened | closed:
            continue
        if hole.get("role") == "vent" and not answers.vents:
            continue
        azimuth = hole.get("in_rows_deg", hole.get("azimuth_deg", 0)) if answers.rows else hole.get("azimuth_deg", 0)
        found[name] = {**hole, "by": "key" if keyed else hole["by"], "azimuth_deg": azimuth}
    return found


def _worked(keys: Mapping[str, Entry], holes: Mapping[str, Entry], answers: Answers) -> dict[str, Entry]:
    """The keys with the holes and keys that are there; a key that works nothing is gone."""
    there: dict[str, Entry] = {}
    for name, key in keys.items():
        works = {word: [hole for hole in key[word] if hole in holes] for word in ("opens", "closes") if word in key}
        if any(works.values()):
            there[name] = {**key, **works}
    resting = {key["touch"]: name for name, key in reversed(there.items()) if "moved_by" not in key}
    for name, key in there.items():
        if "together" in key:
            there[name] = {**key, "together": [other for other in key["together"] if other in there]}
        if "moved_by" in key and answers.rows:
            there[name] = {**there[name], "moved_by": [resting[finger] for finger in key["moved_by"]]}
    return there
