"""Limits of the demo projects and their slopes: against what the release before found (tests/reference/README.md), and
against central differences, family by family."""

import os

import numpy as np
import pytest
from folded import CONED, SECTIONS
from formulas import as_in_0_1_0, former_bare_length
from places import CONFIGS, REFERENCE
from rows import CONE
from shaped import SHAPED
from shelf import KEYED, PIPE, changed, pipe
from tier_list import use

from acoustics.duals import slopes_of
from optimizer.geometry import cutoffs
from optimizer.geometry.choices import Choices, choice_arrays
from optimizer.geometry.layout import Choice
from optimizer.geometry.measured_layout import Geometry
from optimizer.limits.catalogue import FAMILIES, LIMITS
from optimizer.project.loading import load_project, parse_project, text_with_files
from optimizer.solving.figures_of_merit import Unevenness
from optimizer.solving.problem import Problem

DEMOS = ("lantern-tenor", "attic-reed", "meadow-pipe", "lantern-tenor-low-a")
SLOPED = (1, 3)
"""Layouts of the reference whose slopes it holds."""


@pytest.fixture(scope="module", params=DEMOS)
def demo(request):
    """A demo as it was, which asks for no venting, and its part of the reference by key."""
    with np.load(REFERENCE / "limits.npz") as kept:
        known = {
            key.removeprefix(f"{request.param}/"): kept[key] for key in kept if key.startswith(f"{request.param}/")
        }
    return Problem(load_project(REFERENCE / "demos_0_1_0" / f"{request.param}.toml")), known


def choose(problem, known, number):
    """Make the choices of one of the reference's layouts, and give its x."""
    problem.choice = Choice(*(known[f"choice/{part}"][number] for part in Choice._fields))
    return known["x"][number]


def as_before(problem):
    """Which limits (G,) are those of the release before: it asked for no room between a thumb's touch and others'."""
    thumbs = {key.id: key.touch[1] == "T" for key in problem.project.keys}
    names = [item.name.split(".") for item in problem.constraints.items]
    return np.array([kind != "touch_room" or len({thumbs[key] for key in of.split("-")}) == 1 for kind, of in names])


def test_names_are_as_before(demo):
    problem, known = demo
    names = np.array([item.name for item in problem.constraints.items])
    assert names[as_before(problem)].tolist() == known["limits"].tolist()
    assert list(problem.parametrisation.names) == known["numbers"].tolist()


@pytest.fixture
def former(monkeypatch):
    """The holes of the release before, in NumPy, and cutoffs without pads."""
    use(monkeypatch, "numpy")
    as_in_0_1_0(monkeypatch)
    monkeypatch.setattr(cutoffs, "opening_lengths", former_bare_length)


def test_values_are_as_before(former, demo):
    problem, known = demo
    for number in range(len(known["x"])):
        found = problem.measure(problem.layout(choose(problem, known, number)))
        values = found._asdict()
        values["bend"] = values.pop("uneven")[-known["bend"].shape[1] :]  # steps stand before them, which are new
        values["constraint"] = values["constraint"][as_before(problem)]
        for part, value in values.items():
            np.testing.assert_allclose(value, known[part][number], rtol=1e-9, atol=1e-9, err_msg=part)


def test_slopes_are_as_before(former, demo):
    # The reference holds them as float32, 6e-8 of each; notes' errors had a secant for the slope of a phase.
    problem, known = demo
    for row, number in enumerate(SLOPED):
        x = choose(problem, known, number)
        problem.openness, problem.f_target = known["openness"][row], known["f_target"]
        values, slopes = problem.evaluate(x)
        kept = as_before(problem)
        np.testing.assert_allclose(values.constraint[kept], known["constraint"][number], rtol=1e-9, atol=1e-9)
        for part, tolerance in (("constraint", 1e-7), ("strain", 1e-7), ("bend", 1e-7), ("errors", 1e-4)):
            expected = known[f"slope/{part}"][row]
            found = {"bend": slopes.uneven[-len(expected) :], "constraint": slopes.constraint[kept]}.get(
                part, getattr(slopes, part, None)
            )
            most = np.max(np.abs(expected), initial=1e-3)
            np.testing.assert_allclose(found, expected, rtol=0.0, atol=tolerance * most, err_msg=part)


# Central differences.

BORE = "points_mm = [[0, 4.0], [330, 21.0]]"
STEPPED = "points_mm = [[0, 4.0], [120, 9.0], [150, 10.0], [150, 11.0], [158, 13.0], [226, 15.0], [330, 21.0]]"
JOINTED = """
[sections]
joints = 2
joint_mm = 16
socket_ring = {ring}
locked = [{locked}]

[printer]
bed_mm = [40, 35, 220]
margin_mm = 1

[holes]"""
MADE = "{ piece = 1, from_mm = 0, to_mm = 110, to_joint_mm = 18, to_tenon_mm = 16.5 }"


FITTINGS = """
[sections]
joints = [1, 2]
joint_mm = 20
piece_max_mm = 500

[fittings]
ring = { position_mm = [180, 300], length_mm = 20, width_mm = 10, azimuth_deg = 150 }
rest = { position_mm = 390, length_mm = 25, width_mm = 15, azimuth_deg = -60 }
peg = { position_mm = [500, 590], length_mm = 16, width_mm = 30, azimuth_deg = 100 }
"""


def open_tenor():
    """The tenor with bare holes or plates, and a bore whose scale is free."""
    path = CONFIGS / "lantern-tenor.toml"
    text = text_with_files(path.read_text(encoding="utf-8"), path, None).replace('cover = "plate"', 'cover = "either"')
    text = text.replace("\nend_mm = [860", "\ndiameter_scale = [0.94, 1.06]\nend_mm = [860")
    return parse_project(text, "open tenor", rule_out=False)


def touches_beside_cups(name):
    """A demo whose touches are so broad that they keep off the cups."""
    text = (CONFIGS / f"{name}.toml").read_text(encoding="utf-8")
    text = text_with_files(
        changed("[keywork]", "[keywork]\ntouch_breadth_mm = 10", text), CONFIGS / f"{name}.toml", None
    )
    return parse_project(text, name, rule_out=False)


def in_pieces(ring, locked=""):
    """The practice pipe with a bore of steps and bends, in pieces that are nearly as wide as the bed."""
    text = changed("[holes]", JOINTED.format(ring=ring, locked=locked), changed(BORE, STEPPED))
    scale = "1.05" if locked else "[0.9, 1.1]"
    return pipe(changed("wall_mm = 4.0", f"wall_mm = 6.0\ndiameter_scale = {scale}", text))


PROJECTS = {
    **{name: lambda name=name: load_project(CONFIGS / f"{name}.toml") for name in DEMOS},
    "open tenor": open_tenor,
    "keyed pipe": lambda: pipe(KEYED),
    "touches beside cups": lambda: touches_beside_cups("attic-reed"),
    "axle where the key says": lambda: pipe(changed('opens = ["v1"]', 'axle_deg = 70, opens = ["v1"]', KEYED)),
    "rings": lambda: in_pieces("true"),
    "no rings": lambda: in_pieces("false"),
    "a joint already made": lambda: in_pieces("true", MADE),
    "bare pipe": lambda: pipe(PIPE),
    "rows": lambda: pipe(CONE),
    "fittings": lambda: pipe(KEYED + FITTINGS),
    "a bore by numbers": lambda: pipe(SHAPED),
    "folded": lambda: pipe(CONED + SECTIONS),
    "a crook among the holes": lambda: pipe(changed("wall_mm = 4.0", "wall_mm = 4.0\ncrook_end_mm = 120", PIPE)),
}


def somewhere(problem, seed):
    """A point anywhere in the ranges, and choices with as many joints as the project allows, each where it may lie."""
    project, dice = problem.project, np.random.default_rng(seed)
    x = dice.uniform(problem.parametrisation.low, problem.parametrisation.high)
    joints = tuple(dice.uniform(size=project.sections.joints[1])) if project.sections else ()
    plates = tuple(hole.id for hole in project.holes if hole.cover == "either" and dice.uniform() < 0.5)
    layout = problem.layout(x)
    choice, places = choice_arrays(project, Choices(plates, (), joints), layout.position_mm)
    return problem.parametrisation.encode(layout._replace(joint_mm=places)), choice


@pytest.mark.parametrize("name", PROJECTS)
def test_slopes_are_those_of_central_differences(name):
    # Differences of 1e-5 in x: error of order 1e-10 times the third derivative, and rounding of 1e-8.
    problem = Problem(PROJECTS[name]())
    fixed, coding = problem.constraints.fixed, problem.parametrisation
    unevenness = Unevenness(problem.project, problem.loaded.notes)
    families = {build.__name__: build(problem.project) for build in FAMILIES}
    measures = {family: values for family, (items, values) in families.items() if items}
    measures |= {
        "uneven": unevenness.residuals,
        "strains": lambda at: at.fixed.pairs.strains(at.pair_distances),
    }
    for seed in range(1, 1 + int(os.environ.get("HOLEWRIGHT_LAYOUTS", 1))):
        x, choice = somewhere(problem, seed)
        at = Geometry(coding.moving(x, choice), fixed)
        near = [
            [Geometry(coding.layout(x + step * 1e-5 * axis, choice), fixed) for step in (1.0, -1.0)]
            for axis in np.eye(x.size)
        ]
        for family, measure in measures.items():
            found = slopes_of(measure(at), x.size)
            expected = np.stack([(measure(ahead) - measure(behind)) / 2e-5 for ahead, behind in near])
            np.testing.assert_allclose(found, expected, rtol=1e-6, atol=2e-6, err_msg=family)


def test_the_kinds_of_pieces_looked_at_have_all_their_limits():
    kinds = {
        name: {item.name.split(".")[0] for item in Problem(PROJECTS[name]()).constraints.items}
        for name in ("rings", "no rings")
    }
    assert {"piece_long", "piece_wide", "joint", "joint_zone_low"} <= kinds["rings"]
    assert "tenon_wall" in kinds["no rings"]


def test_every_kind_of_limit_stands_in_the_catalogue_with_what_builds_it():
    made = {build: set() for build in FAMILIES}
    for project in (load().project for load in PROJECTS.values()):
        for build, kinds in made.items():
            kinds |= {item.name.partition(".")[0] for item in build(project)[0]}
    assert made == {build: {row.kind for row in LIMITS.values() if row.build is build} for build in FAMILIES}
