"""A solve whose tuning weighs nothing below a width: its merit and slopes on paper, its answers against SciPy's."""

import numpy as np
import optuna
import pytest
import scipy
from shelf import PIPE, pipe

from optimizer.project.model import SearchSection
from optimizer.search.outer_level import Asking
from optimizer.solving.linearised import ROUNDING_MM, Emphasis, linearise, merit_of
from optimizer.solving.problem import Evaluation
from optimizer.solving.refine import refine

WIDTH = 1.0


class Straight:
    """Three notes whose errors are straight in two numbers, and nothing else."""

    weight, main = np.ones(3), np.ones(3, bool)
    slope = np.array([[1.0, 2.0], [-0.5, 1.0], [0.3, -0.7]])

    def evaluate(self, x):
        nothing = np.zeros(0), np.zeros(0), np.zeros(0)
        empty = (np.zeros((0, 2)),) * 3
        return Evaluation(self.slope @ x + [1.0, -2.0, 0.5], *nothing), Evaluation(self.slope, *empty)


def beyond(x, width):
    """Half the square of what the root mean square exceeds the width by, over 5 cents."""
    errors = Straight.slope @ x + [1.0, -2.0, 0.5]
    return 0.5 * (max(np.sqrt(np.mean(errors**2)) - width, 0.0) / 5.0) ** 2


@pytest.mark.parametrize("x", [(3.0, 1.0), (0.4, 1.6), (-2.0, 5.0)])
@pytest.mark.parametrize("width", [0.0, 0.3, 1.0])
def test_merit_slope_and_curvature_are_those_of_what_lies_beyond_the_width(x, width):
    # Errors are straight, so that nothing is left out of the curvature.
    x = np.array(x)
    found = linearise(Straight(), Emphasis(same_tuning_cents=width), x)
    assert merit_of(found, 0.0, 0.0) == pytest.approx(beyond(x, width), rel=1e-12)
    slope = found.residual @ found.residual_slope
    assert slope == pytest.approx(scipy.optimize.approx_fprime(x, lambda at: beyond(at, width), 1e-7), abs=1e-6)
    each = np.vectorize(lambda a, b: beyond(np.array([a, b]), width))
    curved = scipy.differentiate.hessian(lambda at: each(at[0], at[1]), x, initial_step=0.1).ddf
    assert found.residual_slope.T @ found.residual_slope == pytest.approx(curved, abs=1e-6)


def test_within_the_width_tuning_weighs_nothing():
    inside = np.array([0.6, 0.1])
    found = linearise(Straight(), Emphasis(same_tuning_cents=3.0), inside)
    assert beyond(inside, 0.0) > 0.0
    assert merit_of(found, 1.0, 0.0) == 0.0
    assert not np.any(found.residual_slope)


def test_the_worst_note_has_three_times_the_width():
    # The worst of them, 7 cents, lies 4 beyond 3 x 1: half of (4 / 5)^2, ten times.
    x = np.array([2.0, 2.0])
    assert Straight().evaluate(x)[0].errors == pytest.approx([7.0, -1.0, -0.3])
    found = linearise(Straight(), Emphasis(tuning=0.0, worst_note=10.0, same_tuning_cents=1.0), x)
    assert merit_of(found, 10.0, 0.0) == pytest.approx(0.5 * 10.0 * 0.8**2)


def flat_merit(problem, emphasis, x):
    """1/2 of what tuning lies beyond its width, squared, and of the other mean squares; and its slope."""
    values, slopes = problem.evaluate(x)
    share = problem.weight / problem.weight.sum()
    cents = np.sqrt(share @ values.errors**2)
    more = max(cents - emphasis.same_tuning_cents, 0.0)
    total, slope = 0.5 * (more / 5.0) ** 2, more / 25.0 * (share * values.errors / cents) @ slopes.errors
    for weight, scale, part, gradient in (
        (emphasis.stretch / values.strain.size, 0.3, values.strain, slopes.strain),
        (emphasis.unevenness / values.uneven.size, 0.1, values.uneven, slopes.uneven),
    ):
        total += 0.5 * weight * float(np.sum((part / scale) ** 2))
        slope = slope + weight / scale**2 * part @ gradient
    return total, slope


def limits(problem):
    """Constraints and bounds as SciPy takes them, with the room for rounding."""
    kept = {
        "type": "ineq",
        "fun": lambda x: -problem.evaluate(x)[0].constraint - ROUNDING_MM,
        "jac": lambda x: -problem.evaluate(x)[1].constraint,
    }
    coding = problem.parametrisation
    return {"constraints": [kept], "bounds": list(zip(coding.low, coding.high, strict=True)), "method": "SLSQP"}


@pytest.mark.parametrize("share", [1e-3, 0.03, 1.0])
def test_a_solve_with_a_flat_bottom_is_as_good_as_a_general_solver(share, problem, start):
    emphasis = Emphasis(stretch=share, unevenness=share, same_tuning_cents=WIDTH)
    ours = refine(problem, start, emphasis)
    assert ours.settled
    assert ours.violation_mm == 0.0
    assert ours.merit == pytest.approx(flat_merit(problem, emphasis, ours.x)[0], rel=1e-9)
    answered = 0
    for begin in (start, ours.x):
        theirs = scipy.optimize.minimize(
            lambda x: flat_merit(problem, emphasis, x), begin, jac=True, options={"maxiter": 300, "ftol": 1e-9},
            **limits(problem),
        )  # fmt: skip
        if np.max(problem.evaluate(theirs.x)[0].constraint) <= -ROUNDING_MM + 1e-6:  # else it gave up outside
            answered += 1
            assert ours.merit <= theirs.fun * 1.001 + 1e-6
    assert answered


def test_what_tuning_gives_up_goes_to_the_others(problem, start):
    # With little emphasis on them, all but a little of the width is spent, and spent on them.
    def figures(width):
        values = problem.evaluate(
            refine(problem, start, Emphasis(stretch=1e-2, unevenness=1e-2, same_tuning_cents=width)).x
        )[0]
        others = np.mean((values.strain / 0.3) ** 2) + np.mean((values.uneven / 0.1) ** 2)
        return np.sqrt(np.mean(values.errors**2)), others

    before, after = figures(0.0), figures(WIDTH)
    assert after[1] < before[1]
    assert after[0] < before[0] + WIDTH


def test_every_trial_that_lets_tuning_be_wants_something_else():
    def asked(text):
        asking = Asking(pipe(text), 1)
        study = optuna.create_study(directions=["minimize"] * len(asking.questions.names), sampler=asking.sampler)
        return asking.proposal(study.ask()).emphasis

    assert SearchSection().same_tuning_cents == 1.0
    plain = asked(PIPE)
    assert plain.same_tuning_cents == 1.0
    assert min(plain.stretch, plain.unevenness) >= 1e-4
    assert asked(PIPE + "\n[search]\nsame_tuning_cents = 0.0\n").same_tuning_cents == 0.0
    alone = asked(PIPE + "\n[search.objectives]\nworst_note = true\nstretch = false\nunevenness = false\n")
    assert alone.same_tuning_cents == 0.0
