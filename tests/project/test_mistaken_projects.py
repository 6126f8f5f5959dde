"""Mistaken project files: each told in one sentence with its line; sensible projects accused of nothing; and files
changed at random, which load or are refused in sentences."""

import random
import re
import time
from functools import cache

import pytest
from mistaken_all_over import WHOLE
from mistaken_projects import ASKED, BASS, REED, REFUSED, TENOR
from mistaken_projects import PIPE as MEADOW
from places import CONFIGS
from sensible_projects import SENSIBLE
from shelf import changed

from optimizer.commands.cli import main
from optimizer.project.loading import ProjectError, likely_mistakes, parse_project, text_with_files
from optimizer.project.toml_slips import slips

DEMOS = sorted(path.stem for path in CONFIGS.glob("*.toml"))


@cache
def demo(name):
    return (CONFIGS / f"{name}.toml").read_text(encoding="utf-8")


def told(text, name):
    """Whether a text is refused, and what is told of it."""
    path = CONFIGS / f"{name}.toml"
    try:
        whole = text_with_files(text, path, None) if "printer =" in text[:1000] or "hand =" in text[:1000] else text
        loaded = parse_project(whole, path.name, written=text)
    except ProjectError as error:
        return True, error.told
    return False, [finding.told for finding in likely_mistakes(loaded)]


def test_there_are_many():
    assert len(REFUSED) + len(ASKED) + len(WHOLE) >= 60


@pytest.mark.parametrize("what", [*REFUSED, *ASKED])
def test_one_mistake_is_one_sentence_at_its_line(what):
    name, old, new, row, words = (REFUSED | ASKED)[what]
    assert old in demo(name)
    text = demo(name).replace(old, new, 1)
    refused, sentences = told(text, name)
    assert refused == (what in REFUSED)
    (said,) = sentences
    assert [word for word in words if word not in said] == [], said
    assert said.startswith(f"line {text[: text.index(row)].count(chr(10)) + 1}: ")


@pytest.mark.parametrize("what", WHOLE)
def test_one_mistake_all_over_is_one_sentence(what):
    name, change, words = WHOLE[what]
    text = change(demo(name))
    assert text != demo(name)
    _, sentences = told(text, name)
    (said,) = sentences
    assert [word for word in words if word not in said] == [], said
    assert re.match(r"line \d+: ", said)


@pytest.mark.parametrize("name", DEMOS)
def test_a_demo_is_accused_of_nothing(name):
    assert told(demo(name), name) == (False, [])
    assert slips(demo(name)) == []


@pytest.mark.parametrize("what", SENSIBLE)
def test_a_sensible_project_is_accused_of_nothing(what):
    assert told(SENSIBLE[what], "none") == (False, [])


def test_check_tells_a_likely_mistake_and_goes_on(tmp_path, capsys):
    path = tmp_path / "pipe.toml"
    path.write_text(changed("transposition_semitones = 0", "transposition_semitones = 24"))
    assert main(["check", "--quick", str(path)]) == 0
    out = capsys.readouterr().out
    assert "\nlikely mistakes; nothing is changed" in out
    assert "\n  line 4: instrument.transposition_semitones: 24 makes A4 sound A6" in out


def test_the_likely_cause_stands_before_what_has_nothing_to_do_with_it():
    text = changed("position_mm = [170, 250]", "position_mm = [1, 2]", changed("bell_degC = 21.0", "bell_degC = 70"))
    _, sentences = told(text, "none")
    assert [said.split(": ")[1] for said in sentences] == ["air.bell_degC"]
    text = changed("position_mm = [170, 250]", "position_mm = [17, 25]") + "\n[hand]\nspacing_min_mm = 90\n"
    _, sentences = told(text, "none")
    assert [said.split(": ")[1] for said in sentences] == ["holes.g2.position_mm"]


def test_what_holds_for_many_lines_is_told_once():
    without = re.sub(r", chimney_mm = (?:\d+|\[\d+, \d+\])(?=,)", "", demo(REED))
    row = next(number for number, line in enumerate(without.split("\n"), start=1) if line.startswith("c01 ="))
    said = f"line {row}: holes.c01.chimney_mm: this key is missing; the same holds for c02, c03, c04, c05 and 13 more"
    assert told(without, REED) == (True, [said])
    _, (said,) = told(demo(TENOR).replace(" kSide\n", " kSid\n").replace(" kG#\n", " kSid\n"), TENOR)
    assert "'kSid' is neither a finger" in said
    assert re.search(r"did you mean 'kSide'\?; the same holds for line \d+, line \d+, line \d+$", said)


# Files changed at random.

COUNT, SECONDS = 500, 10.0
FILES = r"(?m)^(?:printer|hand) = .*$"
"""Other files that a demo names."""
LETTERS = "#\"'[]{}=,.:;-+ \t\n0123456789xohLRTIl°ä\u00a0\u2028\x00é€“"
VALUES = (
    "0", "-1", "1e300", "-1e-300", "nan", "inf", "true", '""', '"L1"', "[]", "{}", "[[]]", "[2, 1]", "4,5", '"4,5"',
    "1979-05-27", "02.11.2026", "4 mm", "[4,5, 12]", "99999999999", "0.001", "1000", '"key"', "None", "[nan, nan]",
)  # fmt: skip


def mutated(draw, texts):
    """A demo's text with up to four changes, of letters, lines and values."""
    text = draw.choice(texts)
    for _ in range(draw.randint(1, 4)):
        how = draw.choice(("letter", "drop", "line", "value", "number", "swap"))
        if how in ("letter", "drop"):
            spot = draw.randrange(len(text))
            text = text[:spot] + (draw.choice(LETTERS) if how == "letter" else "") + text[spot + 1 :]
        elif how in ("line", "swap"):
            lines = text.split("\n")
            here, there = draw.randrange(len(lines)), draw.randrange(len(lines))
            if how == "line":
                lines.insert(there, lines[here])
            else:
                lines[here], lines[there] = lines[there], lines[here]
            text = "\n".join(lines)
        else:
            spots = list(re.finditer(r"(?<== )[^,}\n]+" if how == "value" else r"-?\d+(?:\.\d+)?", text))
            spot = draw.choice(spots)
            text = text[: spot.start()] + draw.choice(VALUES) + text[spot.end() :]
    return text


def test_five_hundred_files_changed_at_random_load_or_are_told():
    begun, loaded = time.process_time(), 0
    draw = random.Random(20261127)
    texts = [demo(MEADOW), demo(MEADOW), demo(REED), *(re.sub(FILES, "", demo(name)) for name in (TENOR, BASS))]
    for _ in range(COUNT):
        text = mutated(draw, texts)
        refused, sentences = told(text, "none.toml")
        loaded += not refused
        assert sentences or not refused
        assert all(said.strip() and "\n" not in said for said in sentences), sentences
    assert 0.04 * COUNT < loaded < 0.8 * COUNT
    assert time.process_time() - begun < SECONDS
