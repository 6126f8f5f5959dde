"""Findings with their key paths, and the lines on which keys stand.

Lines are looked for in the text as it was put together here; paths are checked against the standard library's reader.
"""

import tomllib
from pathlib import Path

import pytest
from shelf import PIPE, changed

from optimizer.project.findings import Finding, at, key_lines, located
from optimizer.project.loading import ProjectError, load_project, parse_project

DEMOS = sorted((Path(__file__).parents[2] / "configs").rglob("*.toml"))


def findings_of(text):
    with pytest.raises(ProjectError) as caught:
        parse_project(text, "pipe.toml")
    return caught.value.findings


def test_a_sentence_begins_with_its_path():
    assert at("holes.g1", "must go") == Finding("holes.g1", "holes.g1: must go")
    assert at("a.b", "must go", ", point 3").sentence == "a.b, point 3: must go"


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_every_key_of_the_demos_has_its_line(path):
    text = path.read_text()
    lines, rows = key_lines(text), text.split("\n")

    def check(table, above=""):
        for key, value in table.items():
            name = f"{above}{key}"
            if name in lines:  # inside an inline table it has none
                assert key in rows[lines[name] - 1]
            assert name in lines or above.removesuffix(".") in lines
            if isinstance(value, dict):
                check(value, f"{name}.")

    check(tomllib.loads(text))
    assert all(1 <= line <= len(rows) for line in lines.values())


ODD = '''\
"quoted" = 1
bare . "dotted" = 2  # x = 3
list = [
  [30],
  ["holes"],
  "y = 1", # z = 1
]
[ keys . "kC#" ]
touch = """
[bore]
wall_mm = 1"""
[[many]]
one = { a = 1,
        b = 2 }
[[many]]
one = 'b = ["""'
last = 1
'''


def test_only_keys_count():
    # By eye: brackets and equals signs in lists, comments and texts name nothing.
    assert key_lines(ODD) == {
        "quoted": 1, "bare.dotted": 2, "list": 3, "keys.kC#": 8, "keys.kC#.touch": 9, "many": 12, "many.one": 13,
        "many.last": 17,
    }  # fmt: skip


@pytest.mark.parametrize(("path", "line"), [("", None), ("none", None), ("many.one.b", 13), ("list", 3)])
def test_a_finding_stands_where_what_holds_it_does(path, line):
    assert located([Finding(path, "said")], ODD)[0].line == line


def test_a_key_with_a_sharp_is_found():
    text = PIPE.replace("[chart]", '[keys]\n"kC#" = { touch = "R4", opens = ["none"] }\n\n[chart]')
    assert [(each.path, each.line) for each in findings_of(text)] == [
        ("keys.kC#.opens", text[: text.index('"kC#"')].count("\n") + 1)
    ]


def test_a_key_with_a_colon_in_it_is_no_path():
    text = changed("wall_mm = 4.0", 'wall_mm = 4.0\nodd = { "a: b" = 1 }')
    assert [each.path for each in findings_of(text)] == ["bore.odd"]


def test_what_came_is_no_path():
    # A value may hold a colon; the key is what the sentence is about.
    (finding,) = findings_of(PIPE + "\n[hand.left]\nindex_middle_mm = { a = 1 }\n")
    assert finding.path == "hand.left.index_middle_mm"
    assert finding.sentence.startswith("hand.left.index_middle_mm: must be [comfortable, working limit]")


def test_lines_are_those_of_the_text_that_was_written(tmp_path):
    # The printer's line goes, and its table comes, when the file is taken in; the maker's own lines are told.
    (tmp_path / "mine.toml").write_text('name = "shelf printer"\n')
    text = 'printer = "mine.toml"\n' + changed("wall_mm = 4.0", "wall_mm = -4.0")
    (tmp_path / "pipe.toml").write_text(text)
    with pytest.raises(ProjectError) as caught:
        load_project(tmp_path / "pipe.toml")
    assert [(each.path, each.line) for each in caught.value.findings] == [
        ("bore.wall_mm", text[: text.index("wall_mm")].count("\n") + 1)
    ]


def test_a_file_that_a_project_names_is_told_at_the_line_that_names_it(tmp_path):
    (tmp_path / "mine.toml").write_text("bed = 3\n")
    (tmp_path / "pipe.toml").write_text(f'# first\nprinter = "mine.toml"\n{PIPE}')
    with pytest.raises(ProjectError) as caught:
        load_project(tmp_path / "pipe.toml")
    (finding,) = caught.value.findings
    assert (finding.path, finding.line) == ("printer", 2)
    assert finding.sentence == f"{tmp_path / 'mine.toml'}, line 1: bed: there is no such key; did you mean 'bed_mm'?"
