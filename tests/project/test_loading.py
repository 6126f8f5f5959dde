"""Broken project files: each prints one sentence a maker can act on, and nothing is raised."""

import re

import pytest
from broken_charts import BROKEN_CHARTS
from broken_projects import BROKEN, KEY
from changed_pipes import mutated, problems_of
from hypothesis import given, settings
from hypothesis import strategies as st
from places import CONFIGS
from shelf import PIPE, changed

from optimizer.commands.cli import main
from optimizer.project.hand import Hand
from optimizer.project.loading import ProjectError, load_project, parse_project
from optimizer.project.model import Project, SearchSection
from optimizer.project.numbers import Section
from optimizer.views.project_overview import overview

DEMOS = sorted(CONFIGS.glob("*.toml"))
ALL_BROKEN = BROKEN | BROKEN_CHARTS


def check(path, capsys):
    """Run `holewright check`: exit code and the lines on each stream."""
    code = main(["check", str(path)])
    streams = capsys.readouterr()
    return code, streams.out.splitlines(), streams.err.splitlines()


@pytest.mark.parametrize("name", ALL_BROKEN)
def test_a_broken_file_says_what_to_mend(name, tmp_path, capsys):
    text, sentences = ALL_BROKEN[name]
    path = tmp_path / "pipe.toml"
    path.write_text(text)
    code, out, err = check(path, capsys)
    assert code == 2
    assert out == []
    count = f"{len(sentences)} problem{'s' if len(sentences) > 1 else ''}"
    assert err[0] == f"{path}: {count} to mend"
    assert [re.sub(r"^  (line \d+: )?", "", line) for line in err[1:]] == sentences


@pytest.mark.parametrize("name", ALL_BROKEN)
def test_no_sentence_speaks_of_the_program(name):
    # What no maker should have to know: the words of Python and of its libraries.
    for sentence in problems_of(ALL_BROKEN[name][0]):
        assert not re.search(
            r"tuple|dictionary|instance of|literal|valid string|None|datetime|\bTrue\b|after validation|parse string|"
            r"pattern '\^|<|\{'",
            sentence.replace("low <= high", ""),
        ), sentence


def test_broken_toml_says_where(tmp_path, capsys):
    path = tmp_path / "pipe.toml"
    path.write_text(changed("[air]", "[air"))
    code, _, err = check(path, capsys)
    assert code == 2
    assert err[0] == f"{path}: 1 problem to mend"
    assert err[1:] == ["  line 6: the closing bracket is missing: [air]"]


def test_a_missing_file_is_named(tmp_path, capsys):
    path = tmp_path / "none.toml"
    assert check(path, capsys) == (2, [], [f"{path}: 1 problem to mend", f"  there is no file {path}"])


def test_a_folder_is_no_project(tmp_path, capsys):
    code, _, err = check(tmp_path, capsys)
    assert (code, err[1:]) == (2, [f"  {tmp_path} is a folder; name a project file in it"])


def test_a_layout_in_place_of_a_project_is_one_sentence(tmp_path):
    (tmp_path / "t00001.json").write_text('{\n  "kind": "layout",\n  "holes": []\n}\n')
    with pytest.raises(ProjectError) as error:
        load_project(tmp_path / "t00001.json")
    (found,) = error.value.findings
    assert "is a record, such as a layout, and no project; name a project file (.toml), or the run" in found.sentence


def test_a_picture_is_no_project(tmp_path, capsys):
    path = tmp_path / "pipe.png"
    path.write_bytes(b"\x89PNG\r\n\x1a\n\x00\xff\xfe")
    code, _, err = check(path, capsys)
    assert (code, err[1:]) == (2, [f"  {path} is not a text file; a project is TOML text in UTF-8"])


@pytest.mark.parametrize(
    ("file", "kind"),
    [("hands/small-adult", "hand"), ("hands/median-adult", "hand"), ("printers/filament-220", "printer")],
)
def test_a_file_for_projects_to_take_in_is_no_project(file, kind, capsys):
    code, out, err = check(CONFIGS / f"{file}.toml", capsys)
    assert (code, out) == (2, [])
    assert err[1:] == [f'  this is a {kind} file; a project file takes it in by `{kind} = "FILE"`']


def test_a_byte_order_mark_does_no_harm(tmp_path, capsys):
    # Some editors put one in front of every UTF-8 file; the maker cannot see it.
    path = tmp_path / "pipe.toml"
    path.write_bytes(b"\xef\xbb\xbf" + PIPE.encode())
    assert check(path, capsys)[0] == 0


def test_line_ends_of_another_system_do_no_harm(tmp_path, capsys):
    path = tmp_path / "pipe.toml"
    path.write_bytes(PIPE.replace("\n", "\r\n").encode())
    assert check(path, capsys)[0] == 0


def test_problems_in_several_tables_are_told_at_once(tmp_path, capsys):
    text = changed("bell_degC = 21.0", "", changed("wall_mm = 4.0", "wall_mm = -4"))
    text = changed('by = "L2", position_mm = [150, 220]', 'by = "L2", position_mm = [220, 150]', text)
    text = changed("E5   1  none", "E5   7  maybe", text)
    path = tmp_path / "pipe.toml"
    path.write_text(f"{text}\n[scale]\na4_hz = 44\n\n[serch]\nseed = 1\n{KEY.replace('g1', 'g5')}")
    code, _, err = check(path, capsys)
    assert code == 2
    where = {re.sub(r"^  (line \d+: )?", "", line).split(":")[0] for line in err[1:]}
    assert {"air.bell_degC", "bore.wall_mm", "holes.g3.position_mm", "scale.a4_hz", "serch"} <= where
    assert err[0] == f"{path}: {len(err) - 1} problems to mend"


def test_the_chart_and_the_keys_are_told_at_once(tmp_path, capsys):
    path = tmp_path / "pipe.toml"
    path.write_text(changed("H4", "H4", changed("B4 ", "H4 ")) + KEY.replace("g1", "g5"))
    _, _, err = check(path, capsys)
    assert [line.split(": ")[:2] for line in err[1:]] == [
        ["  line 37", "keys.k1.closes"], ["  line 27", "chart.lines ('H4   1  L123')"]
    ]  # fmt: skip


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_every_demo_is_sound(path, capsys):
    code, out, err = check(path, capsys)
    assert (code, err) == (0, [])
    assert "no problems found" in out[0]


def test_there_is_a_demo():
    assert DEMOS


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_a_demo_breaks_when_its_bore_does(path):
    text = re.sub(r"(?m)^points_mm = .*$", "points_mm = [[0, 4]]", path.read_text())
    with pytest.raises(ProjectError):
        parse_project(text, path.name)


def test_a_single_number_fixes_and_a_range_frees():
    project = parse_project(PIPE, "pipe.toml").project
    assert project.holes[0].chimney_mm == (4.0, 4.0)
    assert project.holes[0].diameter_mm == (5.0, 11.0)
    assert project.bore.end_span_mm == (300.0, 340.0)


def test_a_bore_without_a_range_ends_at_its_last_point():
    assert parse_project(changed("end_mm = [300, 340]\n", ""), "pipe.toml").project.bore.end_span_mm == (330.0, 330.0)


def test_a_project_keeps_its_text(tmp_path):
    path = tmp_path / "pipe.toml"
    path.write_text(PIPE)
    loaded = load_project(path)
    assert (loaded.text, loaded.source) == (PIPE, str(path))


# Fuzz: whatever happens to a sound file, the reader answers with a project or with ProjectError.


@settings(max_examples=15)
@given(mutated())
def test_no_change_to_a_file_makes_the_reader_fall(text):
    problems = problems_of(text)
    assert all(problem.strip() and "\n" not in problem for problem in problems)
    if not problems:
        assert "no problems found" in overview(parse_project(text, "pipe.toml"))


@settings(max_examples=15)
@given(st.text(max_size=200))
def test_no_text_at_all_makes_the_reader_fall(text):
    with pytest.raises(ProjectError):
        parse_project(text, "pipe.toml")


MONSTERS = {
    "digits": "x = " + "9" * 5000,
    "brackets": "x = " + "[" * 5000,
    "braces": "x = " + "{a = " * 2000,
    "dots": "a." * 3000 + "b = 1",
}


@pytest.mark.parametrize("text", MONSTERS.values(), ids=list(MONSTERS))
def test_monstrous_toml_is_refused_not_fatal(text):
    with pytest.raises(ProjectError):
        parse_project(text, "pipe.toml")


def test_a_table_left_out_is_one_that_says_nothing():
    # The defaults that need no reader against those that Pydantic's own reader makes of a table without a line.
    kinds = [Hand, Project, SearchSection]
    defaults = [field.default for kind in kinds for field in kind.model_fields.values()]
    tables = [each for each in defaults if isinstance(each, Section)]
    assert len(tables) == 12
    for table in tables:
        read = type(table).model_validate({})
        assert (table, table.model_fields_set, table.model_dump_json()) == (read, set(), read.model_dump_json())
