"""Whole charts in batches, on every tier: against the chain worked out at each note's own frequencies, and slopes."""

import numpy as np
import pytest
from curves import errors_by_the_way
from ducts import make_duct, make_holes
from places import CONFIGS

from acoustics.network import stacked
from acoustics.resonances import batch_errors, chart_errors, note_errors
from optimizer.project.loading import load_project
from optimizer.solving.problem import Problem


@pytest.fixture(scope="module", params=["lantern-tenor", "lantern-tenor-low-a", "meadow-pipe"])
def layouts(request):
    """A demo, and four of its layouts as ducts; the pipe has a half-open hole."""
    problem = Problem(load_project(CONFIGS / f"{request.param}.toml"))
    low, high = problem.parametrisation.low, problem.parametrisation.high
    points = low + (high - low) * np.random.default_rng(3).uniform(0.2, 0.8, (4, low.size))
    return problem, [problem.duct(problem.layout(x)) for x in points]


@pytest.mark.parametrize("interaction", [False, True])
def test_elements_between_the_nodes_are_those_at_each_note(tier, layouts, interaction):
    # Chebyshev interpolation of the elements, promised within 0.01 cent up to 200 cents.
    problem, ducts = layouts
    batch = batch_errors(stacked(ducts), problem.openness, problem.f_target, interaction)
    for duct, errors in zip(ducts, batch, strict=True):
        exact = errors_by_the_way(duct, problem.openness, problem.f_target, interaction)
        close = np.abs(exact) < 200.0
        assert np.count_nonzero(close) > 0.7 * close.size
        assert np.max(np.abs(errors - exact)[close]) < 0.01


@pytest.mark.parametrize("interaction", [False, True])
def test_a_batch_gives_the_errors_of_its_layouts_one_by_one(tier, layouts, interaction):
    problem, ducts = layouts
    targets = problem.f_target * 2.0 ** (np.arange(4)[:, None] / 1200.0)
    together = batch_errors(stacked(ducts), problem.openness, problem.f_target, interaction)
    each_its_own = batch_errors(stacked(ducts), problem.openness, targets, interaction)
    for row, duct in enumerate(ducts):
        alone = chart_errors(duct, problem.openness, problem.f_target, interaction)
        assert together[row] == pytest.approx(alone, rel=1e-12, abs=1e-9)
        sloped = note_errors(duct, problem.openness, problem.f_target, interaction).error
        assert sloped == pytest.approx(alone, rel=1e-10, abs=1e-9)
        alone = chart_errors(duct, problem.openness, targets[row], interaction)
        assert each_its_own[row] == pytest.approx(alone, rel=1e-12, abs=1e-9)
    assert np.min(np.abs(each_its_own[3] - together[3])) > 0.1


@pytest.mark.parametrize("interaction", [False, True])
def test_slopes_of_a_batch_are_finite_differences(tier, interaction):
    # Central differences of 1 um: truncation of order 1e-6, rounding 1e-8 of the slope.
    holes = make_holes((190, 330), (2.5, 3.5), (5, 4), (10, 12))
    duct = make_duct([(0, 2.0), (200, 5.0), (450, 9.0)], holes, 3.0)
    openness, target = np.array([[0.0, 1.0], [1.0, 1.0]]), np.array([400.0, 520.0])

    def moved(change):
        return duct._replace(holes=holes._replace(position=holes.position + change))

    steps = 1e-6 * np.concatenate([np.eye(2), -np.eye(2)])
    ahead, behind = np.split(batch_errors(stacked([moved(step) for step in steps]), openness, target, interaction), 2)
    expected = ((ahead - behind) / 2e-6).T
    assert np.max(np.abs(expected)) > 10.0
    slopes = note_errors(duct, openness, target, interaction).slope.holes.position
    assert slopes == pytest.approx(expected, rel=1e-4, abs=1e-4 * np.max(np.abs(expected)))


def test_interaction_is_what_the_whole_has_more_than_the_chain(tier, layouts):
    problem, (duct, *_) = layouts
    whole, alone = (chart_errors(duct, problem.openness, problem.f_target, part) for part in (True, False))
    found = note_errors(duct, problem.openness, problem.f_target)
    assert found.interaction == pytest.approx(whole - alone, abs=1e-8)
    assert np.max(np.abs(found.interaction)) > 0.1
    assert np.all(note_errors(duct, problem.openness, problem.f_target, interaction=False).interaction == 0.0)
