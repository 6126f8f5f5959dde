"""Where water runs along the bore, and holes told of because they lie there."""

import pytest
from places import CONFIGS
from shelf import PIPE, changed, pipe

from optimizer.commands.cli import main
from optimizer.project.loading import ProjectError, load_project
from optimizer.project.water import off_line_deg, wet_holes
from optimizer.search.proposals import Proposal
from optimizer.search.trial import Solver
from optimizer.solving.linearised import Emphasis


def with_hole(more, bore=""):
    """The practice pipe with more said of g4 and of its bore."""
    text = changed("position_mm = [120, 200], diameter_mm = [5, 10], chimney_mm = 4", "position_mm = [120, 200], "
                   f"diameter_mm = [5, 10], chimney_mm = 4{more}")  # fmt: skip
    return changed("wall_mm = 4.0", f"wall_mm = 4.0{bore}", text)


@pytest.mark.parametrize(
    ("azimuth", "line", "off"),
    [(180, 180, 0), (-180, 180, 0), (200, 180, 20), (-160, 180, 20), (160, 180, 20), (0, 180, 180), (10, -350, 0),
     (350, 10, 20), (-90, 90, 180), (360, 0, 0)],
)  # fmt: skip
def test_degrees_from_the_line_go_the_shorter_way_round(azimuth, line, off):
    project = pipe(with_hole(f", azimuth_deg = {azimuth}", f"\nwater_line_deg = {line}")).project
    assert off_line_deg(project.holes[3], project) == pytest.approx(off, abs=1e-12)


@pytest.mark.parametrize(
    ("more", "bore", "told"),
    [
        (", azimuth_deg = 180", "", True),
        (", azimuth_deg = 161", "", True),  # 19 off, and half of 40 is 20
        (", azimuth_deg = 160", "", False),
        (", azimuth_deg = -160", "", False),
        (", azimuth_deg = 180, on_water_line = true", "", False),
        (", azimuth_deg = 180", "\nwater_line_width_deg = 0", False),
        (", azimuth_deg = 140", "\nwater_line_width_deg = 90", True),
        (", azimuth_deg = 90", "\nwater_line_deg = 90", True),
        ("", "", False),
    ],
)
def test_holes_in_the_line_are_told(more, bore, told):
    said = wet_holes(pipe(with_hole(more, bore)).project)
    assert len(said) == told
    assert all("g4" in each and "on_water_line = true" in each and "azimuth_deg" in each for each in said)


def test_the_front_holes_are_wet_where_the_front_is_lowest():
    said = wet_holes(pipe(changed("wall_mm = 4.0", "wall_mm = 4.0\nwater_line_deg = 0")).project)
    assert [each.split(":")[0] for each in said] == [f"water runs into g{number}" for number in (1, 2, 3, 4)]


def test_check_and_every_layout_say_it(tmp_path, capsys):
    text = with_hole(", azimuth_deg = 180")
    (sentence,) = wet_holes(pipe(text).project)
    path = tmp_path / "pipe.toml"
    path.write_text(text)
    assert main(["check", "--quick", str(path)]) == 0
    assert sentence in capsys.readouterr().out
    solved = Solver(text, "pipe.toml").solve(Proposal(0, Emphasis(), 0.5, 0.0, 1)).record_json
    assert sentence.partition(";")[0] in solved


@pytest.mark.parametrize("demo", sorted(CONFIGS.glob("*.toml")), ids=lambda path: path.stem)
def test_no_demo_has_an_unasked_hole_there(demo):
    project = load_project(demo).project
    assert wet_holes(project) == []
    asked = {hole.id for hole in project.holes if hole.on_water_line}
    assert asked == {hole.id for hole in project.holes if hole.by == "LT"}


def test_a_line_is_no_wider_than_the_bore():
    with pytest.raises(ProjectError, match=r"bore\.water_line_width_deg: must be at most 360"):
        pipe(changed("wall_mm = 4.0", "wall_mm = 4.0\nwater_line_width_deg = 400", PIPE))
