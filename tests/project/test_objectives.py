"""Objectives: one row each, and what a project may seek of them."""

import pytest
from shelf import PIPE, pipe

from optimizer.project.loading import ProjectError
from optimizer.project.objectives import OBJECTIVES, Objectives

PLATED = PIPE.replace('by = "L1",', 'by = "L1", cover = "either",')


def sought(lines, text=PIPE):
    return pipe(f"{text}\n[search.objectives]\n{lines}").project.objective_names


def test_a_project_may_seek_each_of_them_and_nothing_else():
    assert list(Objectives.model_fields) == list(OBJECTIVES)
    assert sought("".join(f"{name} = true\n" for name in OBJECTIVES)) == tuple(OBJECTIVES)
    with pytest.raises(ProjectError, match=r"search\.objectives\.mass: there is no such key"):
        sought("mass = true")


def test_what_is_sought_unless_said_otherwise():
    # As the project's reader has promised since its first file: no robustness, no worst note; plates where they may be.
    assert sought("") == ("tuning", "stretch", "unevenness")
    assert sought("", PLATED) == ("tuning", "stretch", "unevenness", "plates")
    assert sought("plates = false", PLATED) == ("tuning", "stretch", "unevenness")


def test_joints_count_where_the_search_may_do_with_fewer():
    one_or_two, two = (f"{PIPE}\n[sections]\njoints = {joints}\njoint_mm = 16\n" for joints in ("[1, 2]", "2"))
    assert sought("", one_or_two) == ("tuning", "stretch", "unevenness", "joints")
    assert sought("joints = false", one_or_two) == ("tuning", "stretch", "unevenness")
    assert sought("", two) == ("tuning", "stretch", "unevenness")
    assert sought("joints = true", two) == ("tuning", "stretch", "unevenness", "joints")


def test_objectives_are_named_in_one_order():
    both = PLATED + "\n[sections]\njoints = [1, 2]\njoint_mm = 16\n"
    assert sought("", both) == sought("joints = true", both) == ("tuning", "stretch", "unevenness", "plates", "joints")


@pytest.mark.parametrize("name", OBJECTIVES)
def test_one_alone_is_no_trade_off(name):
    lines = "".join(f"{other} = {str(other == name).lower()}\n" for other in OBJECTIVES)
    with pytest.raises(ProjectError, match=r"search\.objectives: at least two objectives must be true"):
        sought(lines)


@pytest.mark.parametrize("name", OBJECTIVES)
def test_the_box_holds_many_layouts_that_differ(name):
    row = OBJECTIVES[name]
    assert row.reference > 10 * row.resolution > 0
