"""Whole charts in batches against the same notes one by one, and the complex functions they are made of."""

from pathlib import Path

import jax
import numpy as np
import pytest
from acoustics.complexes import cosh_sinh, reciprocal, root
from ducts import make_duct, make_holes

from acoustics.charts import chain_errors
from acoustics.resonances import chart_errors
from optimizer.problem import Problem
from optimizer.project_file import load_project

CONFIGS = Path(__file__).parents[1] / "configs"


@pytest.mark.parametrize("demo", ["lantern-tenor", "lantern-tenor-low-a", "meadow-pipe"])
def test_a_batch_gives_the_errors_of_its_layouts_one_by_one(demo):
    # Chebyshev interpolation of the elements, promised within 0.01 cent up to 200 cents; the pipe has a half-open hole.
    problem = Problem(load_project(CONFIGS / f"{demo}.toml"))
    low, high = problem.parametrisation.low, problem.parametrisation.high
    points = low + (high - low) * np.random.default_rng(3).uniform(0.2, 0.8, (4, low.size))
    ducts = jax.vmap(lambda x: problem.duct(problem.parametrisation.layout(x)))(points)
    found = np.asarray(jax.jit(lambda many: chain_errors(many, problem.openness, problem.f_target))(ducts))
    for row, errors in enumerate(found):
        duct = jax.tree.map(lambda field, row=row: field[row], ducts)
        alone = np.asarray(chart_errors(duct, problem.openness, problem.f_target, interaction=False))
        near = np.abs(alone) < 200.0
        assert np.count_nonzero(near) > 0.7 * near.size
        assert np.max(np.abs(errors - alone)[near]) < 0.01


def test_slopes_of_a_batch_are_finite_differences():
    # Central differences of 1 um: truncation of order 1e-6, rounding 1e-8 of the slope.
    holes = make_holes((190, 330), (2.5, 3.5), (5, 4), (10, 12))
    duct = make_duct([(0, 2.0), (200, 5.0), (450, 9.0)], holes, 3.0, padded=False)
    openness, target = np.array([[0.0, 1.0], [1.0, 1.0]]), np.array([400.0, 520.0])

    def errors(position):
        moved = duct._replace(holes=holes._replace(position=position))
        return chain_errors(jax.tree.map(lambda field: field[None], moved), openness, target)[0]

    slopes = jax.jit(jax.jacfwd(errors))(holes.position)
    value, step = jax.jit(errors), 1e-6 * np.eye(2)
    expected = np.transpose([(value(holes.position + d) - value(holes.position - d)) / 2e-6 for d in step])
    assert np.max(np.abs(expected)) > 10.0
    assert np.asarray(slopes) == pytest.approx(expected, rel=1e-4, abs=1e-4 * np.max(np.abs(expected)))


def test_complex_functions_are_those_of_numpy():
    # NumPy's own complex arithmetic; angles as far from the real axis as losses turn them.
    angle, size = np.meshgrid(np.linspace(-2.5, 2.5, 21), np.geomspace(1e-3, 15.0, 15))
    z = size * np.exp(1j * angle)
    assert np.asarray(reciprocal(z)) == pytest.approx(1.0 / z, rel=1e-13)
    assert np.asarray(root(z)) == pytest.approx(np.sqrt(z), rel=1e-13)
    cosh, sinh = cosh_sinh(z)
    assert np.asarray(cosh) == pytest.approx(np.cosh(z), rel=1e-12)
    assert np.asarray(sinh) == pytest.approx(np.sinh(z), rel=1e-12)
