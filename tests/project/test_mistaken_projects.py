"""Mistaken project files: each told in one sentence with its line; sensible projects accused of nothing; and files
changed at random, which load or are refused in sentences."""

import re

import pytest
from changed_demos import demo, loading_or_told, told
from mistaken_all_over import WHOLE
from mistaken_projects import ASKED, REED, REFUSED, TENOR
from places import CONFIGS
from sensible_projects import SENSIBLE
from shelf import changed

from optimizer.commands.cli import main
from optimizer.project.toml_slips import slips

DEMOS = sorted(path.stem for path in CONFIGS.glob("*.toml"))


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


def test_files_changed_at_random_load_or_are_told():
    share, seconds = loading_or_told(60)
    assert 0.0 < share < 0.8  # both kinds are met
    assert seconds < 0.05
