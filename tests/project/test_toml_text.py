"""Texts that are no project: told, and soon, whatever they hold."""

import pytest
from places import CONFIGS
from within_bounds import WITHIN, told_soon

from optimizer.project.hand import Hand
from optimizer.project.included import IncludedError, parse_included
from optimizer.project.loading import ProjectError, load_project, parse_project
from optimizer.project.toml_text import UnreadableError, tables_of

HAND = parse_included((CONFIGS / "hands" / "small-adult.toml").read_text(), "small", "small", Hand, "hand")


TOO_MUCH = {
    "a key of many names": (".".join("a" * 4000) + " = 1", "line 1: a key must have at most 4 names"),
    "a table of many names": ("\n[" + " . ".join("a" * 2000) + "]", "line 2: a key must have at most 4 names"),
    "names in quotes": (".".join(["'a'", '"b"'] * 9) + " = 1", "at most 4 names"),
    "names within braces": ("a = { " + ".".join("1" * 20) + " = 1 }", "at most 4 names"),
    "a bracket and blanks": ("[" + " " * 90_000, "line 1: must have at most 20000 characters, but has 90001"),
    "a long text": ("#\n" * 60_000, "must have at most 100000 characters, but has 120000"),
    "many lines": ("\n" * 50_000, "must have at most 1500 lines, but has 50001"),
}


@pytest.mark.parametrize("what", TOO_MUCH)
def test_more_than_anybody_writes_is_told_for_projects_and_hands(what):
    text, said = TOO_MUCH[what]
    with pytest.raises(UnreadableError, match=said) as told:
        tables_of(text)
    with pytest.raises(ProjectError) as refused:
        parse_project(text, "x.toml")
    assert refused.value.findings == told.value.findings
    with pytest.raises(IncludedError, match=said):
        parse_included(text, "x.toml", "x.toml", Hand, "hand")


def test_a_file_of_that_kind_is_told_on_the_command_line_too(tmp_path):
    (tmp_path / "x.toml").write_text(TOO_MUCH["a long text"][0])
    with pytest.raises(ProjectError, match="at most 100000 characters"):
        load_project(tmp_path / "x.toml")


ALSO_UNDER_A_HAND = ("keys of one table", "tables in a table", "a list of tables", "a list", "brackets", "blanks")


@pytest.mark.parametrize("what", WITHIN)
def test_what_is_within_bounds_is_told_soon(what):
    told_soon(WITHIN[what], None)


@pytest.mark.parametrize("what", ALSO_UNDER_A_HAND)
def test_so_it_is_under_another_hand(what):
    told_soon(WITHIN[what], HAND)


def test_what_a_large_project_holds_is_read():
    # No demo comes near: five times the lines of the largest, a bore of 500 points on one line, keys in tables.
    points = ", ".join(f"[{number}.25, {number}.75]" for number in range(500))
    rows = "\n".join(
        f"h{number:02} = {{ by.finger = 'L1', note = 'a.b.c.d.e', parts = ['a.b.c.d.e'] }}" for number in range(1000)
    )
    found = tables_of(f"[bore]\npoints_mm = [{points}]  # 1.2.3.4.5. Do. Re. Mi. Fa. So.\n[holes]\n{rows}\n")
    assert (len(found["bore"]["points_mm"]), len(found["holes"])) == (500, 1000)
