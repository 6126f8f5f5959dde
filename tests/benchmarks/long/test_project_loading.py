"""Project files changed at random: the reader answers with a project or with sentences."""

import pytest
from changed_pipes import mutated, problems_of
from hypothesis import given, settings
from hypothesis import strategies as st

from optimizer.project.loading import ProjectError, parse_project
from optimizer.views.project_overview import overview


@settings(max_examples=150)
@given(mutated())
def test_no_change_to_a_file_makes_the_reader_fall(text):
    problems = problems_of(text)
    assert all(problem.strip() and "\n" not in problem for problem in problems)
    if not problems:
        assert "no problems found" in overview(parse_project(text, "pipe.toml"))


@settings(max_examples=50)
@given(st.text(max_size=200))
def test_no_text_at_all_makes_the_reader_fall(text):
    with pytest.raises(ProjectError):
        parse_project(text, "pipe.toml")
