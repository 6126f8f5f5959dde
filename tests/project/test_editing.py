"""Changing tables of a project's text: what was not asked for stays, to the last blank.

What a text says is judged by the standard library's reader, which has no part in the changes.
"""

import tomllib

import pytest
from places import CONFIGS

from optimizer.project import editing
from optimizer.project.editing import with_chart_lines, with_tables

HAND = {"name": 'Ida\'s "small" hand\x7f', "left": {"index_middle_mm": [20, 26], "hand_length_mm": 150.25}}
WRITTEN = {
    "no hand": "",
    "one table": "[hand]\nname = 'own'\nleft = { index_middle_mm = [24, 30] }\n",
    "a line": 'hand = "hands/ida.toml"  # the player\n',
    "dotted keys": "hand.name = 'own'\nhand.left.index_middle_mm = [24, 30]\n",
    "a name in quotes": "'hand' = { name = 'own' }\n",
    "a list over lines": "[hand.left]\nindex_middle_mm = [\n  24,\n  30,\n]\n",
    "rows that look like tables": "[hand]\nrows = [\n  [30]\n  ,\n  ['hand']\n]\n",
    "words that look like tables": '[hand]\nname = """\n[a bracket\nhand = 1\n"""\n',
    "bare words that look like keys": "[hand]\nname = '''\n[search]\nseed = 1'''\n",
}
AROUND = '# the shelf\'s pipe\ntitle = "x"  # kept\n{}\n\n[search]   # how long\nseed =  7\n'


@pytest.mark.parametrize("anew", [False, True])
@pytest.mark.parametrize("own", WRITTEN.values(), ids=list(WRITTEN))
def test_a_table_becomes_another_and_nothing_else_does(own, anew):
    text = AROUND.format(own)
    found = with_tables(text, {"hand": HAND}, "Hand taken in from ida.toml", anew)
    assert tomllib.loads(found) == {**tomllib.loads(text), "hand": HAND}
    for line in ("# the shelf's pipe", 'title = "x"  # kept', "[search]   # how long", "seed =  7"):
        assert line in found.splitlines()
    assert found.splitlines().count("# Hand taken in from ida.toml") == 1


def test_a_table_in_parts_becomes_one():
    text = "[hand.left]\na = 1\n\n[search]\nseed = 7\n\n[hand.right]\nb = 2\n\n[air]\nreed_degC = 25\n"
    found = with_tables(text, {"hand": HAND}, "Hand", anew=True)
    assert tomllib.loads(found) == {**tomllib.loads(text), "hand": HAND}
    assert found.count("[hand]") == 1


def test_only_what_differs_is_written():
    text = (
        "[holes]  # from the bell\n"
        'g1 = { by = "R1",  position_mm = [220, 300], diameter_mm = [5, 11] }  # the lowest\n'
        "# two fingers up\n"
        'g2 = { by = "L3", position_mm = [170, 250] }\n'
        "\n[bore]\nwall_mm = 4.0\n"
    )
    data = tomllib.loads(text)
    holes = {**data["holes"], "g1": {**data["holes"]["g1"], "position_mm": 0.1 + 0.2}}
    found = with_tables(text, {"holes": holes, "bore": data["bore"]}, "Printed already")
    assert found == text.replace("[220, 300]", "0.30000000000000004") + "\n# Printed already\n"


def test_what_a_table_holds_no_more_goes():
    found = with_tables("[a]\nx = 1\ny = 2  # kept\n", {"a": {"y": 2, "z": [{"w": 1}]}}, "said")
    assert tomllib.loads(found) == {"a": {"y": 2, "z": [{"w": 1}]}}
    assert "y = 2  # kept" in found


def test_a_text_without_a_last_line_end_is_no_trouble():
    found = with_tables("x = 1  # one", {"a": {"y": 2}}, "said", anew=True)
    assert tomllib.loads(found) == {"x": 1, "a": {"y": 2}}
    assert found.startswith("x = 1  # one\n")


def test_what_cannot_be_edited_is_told():
    # Not a number equals nothing, not even itself: nobody can say that the text reads as it should.
    assert with_tables("x = nan\n", {"a": {"y": 2}}, "said") is None


@pytest.mark.parametrize("text", [
    *((CONFIGS / f"{name}.toml").read_text() for name in ("lantern-tenor", "stairwell-contra")),
    *(f"{head}{rest}" for head in ('hand = "a"', "", '# who\n\nhand="b" # plays\nx = 1') for rest in ("", "\n[y]\n")),
    'title = """\nhand = "a pattern"\n"""\n\'hand\' = "a.toml"\n[y]\n',
], ids=range(9))  # fmt: skip
def test_a_line_becomes_a_table_as_the_library_that_edits_would_have_it(text, monkeypatch):
    found = with_tables(text, {"hand": HAND}, "Hand taken in", anew=True)
    monkeypatch.setattr(editing, "_without_lines", lambda text, names: None)
    assert found == with_tables(text, {"hand": HAND}, "Hand taken in", anew=True)
    assert tomllib.loads(found) == {**tomllib.loads(text), "hand": HAND}


CHART = (
    "# the pipe's chart\n[chart]  # from the bell\n{}lines = {}\n# low notes\nA4   1  L123 R1  # as taught\n"
    "B4   1  L123\n{}  # eleven notes\n\n[search]\nseed =  7\n"
)


@pytest.mark.parametrize("quotes", ['"""', "'''"])
@pytest.mark.parametrize("above", ["", "half_open_percent = 8\n\n"])
def test_lines_come_below_those_of_a_chart_and_all_else_stays_where_it_is(quotes, above):
    text = CHART.format(above, quotes, quotes)
    found = with_chart_lines(text, ["C#5  1  L12 R1  alternate"])
    after = text.replace("L123\n", "L123\nC#5  1  L12 R1  alternate\n").replace("'''", '"""')
    assert found == after


def test_a_chart_in_one_line_takes_more():
    found = with_chart_lines('[chart]\nlines = "A4 1 L123"  # one note\n', ["B4 1 L12"])
    assert tomllib.loads(found)["chart"]["lines"] == "A4 1 L123\nB4 1 L12\n"
    assert "# one note" in found
