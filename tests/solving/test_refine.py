"""One solve against a general-purpose optimiser, and what it owes when it cannot succeed."""

import re

import numpy as np
import pytest
import scipy
from places import CONFIGS
from shelf import KEYED, PIPE, changed, pipe

from optimizer.project.loading import load_project, parse_project
from optimizer.solving.assemble import assemble
from optimizer.solving.fitting import Fitting
from optimizer.solving.linearised import ROUNDING_MM, Emphasis, linearise
from optimizer.solving.problem import Problem
from optimizer.solving.quadratic_step import best_step, may_bind
from optimizer.solving.refine import refine
from optimizer.solving.starts import Starts

EMPHASES = {
    "tuning alone": Emphasis(),
    "all three": Emphasis(stretch=0.1, unevenness=0.1),
    "stretch": Emphasis(stretch=5.0),
    "unevenness": Emphasis(unevenness=1.0),
}


def merit(problem, emphasis, x):
    """1/2 of the emphasised mean squares: cents over 5, strain over 0.3, steps and bends over 0.1; and its slope."""
    values, slopes = problem.evaluate(x)
    total, slope = 0.0, np.zeros(x.size)
    share = problem.weight / problem.weight.sum()
    for weight, scale, part, gradient in (
        (emphasis.tuning * share, 5.0, values.errors, slopes.errors),
        (emphasis.stretch / values.strain.size, 0.3, values.strain, slopes.strain),
        (emphasis.unevenness / values.uneven.size, 0.1, values.uneven, slopes.uneven),
    ):
        total += 0.5 * float(np.sum(weight * (part / scale) ** 2))
        slope += (weight * part / scale**2) @ gradient
    return total, slope


def general_solver(problem, emphasis, x):
    """SciPy's SLSQP on the same merit, constraints (with the room for rounding) and bounds."""
    constraint = {
        "type": "ineq",
        "fun": lambda x: -problem.evaluate(x)[0].constraint - ROUNDING_MM,
        "jac": lambda x: -problem.evaluate(x)[1].constraint,
    }
    bounds = list(zip(problem.parametrisation.low, problem.parametrisation.high, strict=True))
    return scipy.optimize.minimize(
        lambda x: merit(problem, emphasis, x),
        x,
        jac=True,
        method="SLSQP",
        bounds=bounds,
        constraints=[constraint],
        options={"maxiter": 300, "ftol": 1e-9},
    )


@pytest.mark.parametrize("name", EMPHASES)
def test_a_solve_is_as_good_as_a_general_solver(name, problem, start):
    ours = refine(problem, start, EMPHASES[name])
    theirs = general_solver(problem, EMPHASES[name], start)
    assert theirs.success
    assert np.max(problem.evaluate(theirs.x)[0].constraint) <= -ROUNDING_MM + 1e-6
    assert ours.settled
    # One part in a thousand: refine stops when a step promises less than 1e-5 of the merit.
    assert merit(problem, EMPHASES[name], ours.x)[0] <= theirs.fun * 1.001 + 1e-6


@pytest.mark.parametrize("name", EMPHASES)
def test_a_general_solver_started_at_the_answer_finds_nothing_better(name, problem, start):
    ours = refine(problem, start, EMPHASES[name])
    before = merit(problem, EMPHASES[name], ours.x)[0]
    after = general_solver(problem, EMPHASES[name], ours.x)
    # Where SLSQP gains, it may not gain more than the stopping tolerance, unless it leaves the constraints.
    assert before - after.fun <= 1e-3 * before + 1e-6


@pytest.mark.parametrize("name", EMPHASES)
def test_constraints_and_ranges_hold(name, problem, start):
    found = refine(problem, start, EMPHASES[name])
    assert np.max(problem.evaluate(found.x)[0].constraint) <= 1e-6
    assert found.violation_mm == 0.0
    assert np.all(found.x >= problem.parametrisation.low)
    assert np.all(found.x <= problem.parametrisation.high)


@pytest.mark.parametrize("name", EMPHASES)
def test_what_a_solve_reports_is_true(name, problem, start):
    found = refine(problem, start, EMPHASES[name])
    assert found.merit == pytest.approx(merit(problem, EMPHASES[name], found.x)[0], rel=1e-12)


@pytest.mark.parametrize("size", [0.0, 0.5, 1.0])
def test_any_start_ends_inside_the_limits(size, problem):
    begin = Starts(problem).at(size, scatter=1.0, seed=5)
    found = refine(problem, begin, Emphasis(stretch=0.1, unevenness=0.1))
    assert found.violation_mm == 0.0
    assert (
        found.merit <= merit(problem, Emphasis(stretch=0.1, unevenness=0.1), begin)[0]
        or np.max(problem.evaluate(begin)[0].constraint) > -ROUNDING_MM
    )


def test_the_practice_pipe_comes_out_in_tune(problem, start):
    # Four holes, a bell and a reed for five notes: small errors must be left. 5 cents is about the least difference
    # that a careful listener hears in a melody (published, from memory).
    errors = problem.evaluate(refine(problem, start, Emphasis()).x)[0].errors
    assert np.max(np.abs(errors)) < 5.0


def test_emphasis_on_the_worst_note_lowers_it(problem, start):
    def worst(emphasis):
        return np.max(np.abs(problem.evaluate(refine(problem, start, emphasis).x)[0].errors))

    assert worst(Emphasis(worst_note=10.0)) < 0.9 * worst(Emphasis())


def test_the_worst_note_is_as_good_as_a_general_solver_makes_it(problem, start):
    # Least worst error alone: minimise t with -t <= e_i / 5 <= t, from the same start.
    def split(z):
        values, slopes = problem.evaluate(z[:-1])
        return values, slopes, z[-1]

    def inequalities(z):
        values, _, t = split(z)
        return np.concatenate([t - values.errors / 5, t + values.errors / 5, -values.constraint - ROUNDING_MM])

    def slope(z):
        _, slopes, _ = split(z)
        n, m = slopes.errors.shape[0], slopes.constraint.shape[0]
        left = np.concatenate([-slopes.errors / 5, slopes.errors / 5, -slopes.constraint])
        return np.hstack([left, np.concatenate([np.ones(2 * n), np.zeros(m)])[:, None]])

    low, high = problem.parametrisation.low, problem.parametrisation.high
    z0 = np.append(start, np.max(np.abs(problem.evaluate(start)[0].errors)) / 5)
    theirs = scipy.optimize.minimize(
        lambda z: (z[-1], np.append(np.zeros(start.size), 1.0)), z0, jac=True, method="SLSQP",
        bounds=[*zip(low, high, strict=True), (0, None)],
        constraints=[{"type": "ineq", "fun": inequalities, "jac": slope}], options={"maxiter": 300, "ftol": 1e-9},
    )  # fmt: skip
    assert theirs.success
    ours = refine(problem, start, Emphasis(tuning=1e-6, worst_note=1.0))
    assert np.max(np.abs(problem.evaluate(ours.x)[0].errors)) <= 5 * theirs.fun + 0.02


def test_emphasis_on_reach_brings_the_fingers_together(problem, start):
    def strain(emphasis):
        return np.sum(problem.evaluate(refine(problem, start, emphasis).x)[0].strain ** 2)

    assert strain(Emphasis(stretch=5.0)) < 0.5 * strain(Emphasis())


def test_the_same_start_gives_the_same_answer(problem, start):
    first, second = (refine(problem, start, Emphasis(stretch=0.1)) for _ in range(2))
    assert first.x.tolist() == second.x.tolist()


def test_rounded_for_the_maker_it_still_fits(record):
    assert record.feasible
    assert record.violation_mm == 0.0


# Two holes under L1 and L2 that must be 40 mm apart for the fingers' room, 31 mm at most for the hand.
CONTRADICTORY = (
    changed("A4   1  L123 R1\nB4   1  L123\nC#5  1  L12\nD5 ", "A4   1  L12\nC#5",
            changed(PIPE[PIPE.index("g1 =") : PIPE.index("g3 =")], ""))
    + "\n[hand]\nspacing_min_mm = 40\n[search.objectives]\nunevenness = false\n"
)  # fmt: skip


@pytest.fixture(scope="module")
def contradiction():
    problem = Problem(pipe(CONTRADICTORY))
    return problem, refine(problem, Starts(problem).at(), Emphasis())


def test_limits_that_contradict_each_other_still_give_a_layout(contradiction):
    # d >= 40 and d <= 31: the largest violation is least at d = 35.5, and is then 4.5 mm. d lies along the side of a
    # cone whose radius grows 8.5 mm over 330, the root of 1 + (8.5 / 330)^2 = 1.0003317 times the way along the axis.
    problem, found = contradiction
    assert found.violation_mm == pytest.approx(4.5, abs=0.01)
    layout = problem.parametrisation.layout(found.x)
    assert float(layout.position_mm[0] - layout.position_mm[1]) == pytest.approx(35.5 / 1.0003317, abs=0.005)


def test_its_record_says_which_limits_are_broken_and_by_how_much(contradiction):
    problem, found = contradiction
    record = assemble(problem, found.x, "t00000", {})
    assert not record.feasible
    broken = {binding.name: binding.margin_mm for binding in record.binds if binding.margin_mm < 0}
    assert broken == pytest.approx({"reach.L1-L2": -4.5, "finger_room.L1-L2": -4.5}, abs=0.02)
    assert all("mm" in binding.sentence for binding in record.binds if binding.margin_mm < 0)


def test_a_broken_limit_does_not_cost_the_tuning(contradiction):
    # With the violation held at its least, 4.5 mm and 0.03 for rounding, SciPy tunes what is left free.
    problem, found = contradiction
    held = {
        "type": "ineq",
        "fun": lambda x: 4.53 - problem.evaluate(x)[0].constraint,
        "jac": lambda x: -problem.evaluate(x)[1].constraint,
    }

    def cents(x):
        values, slopes = problem.evaluate(x)
        return 0.5 * float(np.mean((values.errors / 5) ** 2)), values.errors / 75 @ slopes.errors

    bounds = list(zip(problem.parametrisation.low, problem.parametrisation.high, strict=True))
    theirs = scipy.optimize.minimize(cents, found.x, jac=True, method="SLSQP", bounds=bounds, constraints=[held])
    assert theirs.success
    best, ours = (np.sqrt(np.mean(problem.evaluate(x)[0].errors ** 2)) for x in (theirs.x, found.x))
    assert ours <= best + 1.0


@pytest.mark.parametrize("radius", [0.05, 0.5, 5.0])
def test_limits_out_of_reach_change_no_step(radius, problem, start, monkeypatch):
    # Left out of the quadratic programme is what no step within the box can break: the step is that of all rows.
    coding, emphasis = problem.parametrisation, Emphasis(stretch=0.1, unevenness=0.1)
    here = linearise(problem, emphasis, start)
    given = (here, 0.0, 100.0, start, coding.low, coding.high, radius)
    step, _, multipliers = best_step(*given)
    asked = may_bind(here, np.maximum(coding.low - start, -radius), np.minimum(coding.high - start, radius))
    assert np.all(multipliers[~asked] == 0.0)
    assert radius > 1.0 or not np.all(asked)
    monkeypatch.setattr(
        "optimizer.solving.quadratic_step.may_bind", lambda linear, *_: np.ones(linear.constraint.size, bool)
    )
    whole, _, all_multipliers = best_step(*given)
    assert step == pytest.approx(whole, abs=1e-6)
    assert multipliers == pytest.approx(all_multipliers, abs=1e-4 * max(1.0, np.max(all_multipliers)))


def test_a_limit_within_reach_is_kept(problem, start):
    # Every limit that a corner of the box breaks is among those asked for.
    coding, dice = problem.parametrisation, np.random.default_rng(4)
    here = linearise(problem, Emphasis(), start)
    floor, ceiling = np.maximum(coding.low - start, -0.5), np.minimum(coding.high - start, 0.5)
    asked = may_bind(here, floor, ceiling)
    for _ in range(200):
        corner = np.where(dice.uniform(size=start.size) < 0.5, floor, ceiling)
        assert not np.any((here.constraint + here.constraint_slope @ corner > 0.0) & ~asked)


@pytest.mark.parametrize("seed", [0, 5])
def test_a_solve_that_its_trust_region_held_back_goes_on(seed, monkeypatch):
    # Rejected steps leave a small region; the good ones that follow are short, and each opens it further.
    fitting = Fitting(load_project(CONFIGS / "attic-reed.toml"))
    begin = fitting.starts.at(0.5, 0.3, seed)
    found = refine(fitting.problem, begin, Emphasis(stretch=5.0))
    monkeypatch.setattr("optimizer.solving.refine.IDLE_STEPS", 1000)
    longest = refine(fitting.problem, begin, Emphasis(stretch=5.0))
    assert found.merit <= 1.005 * longest.merit


def test_numbers_that_move_no_sound_have_slopes_of_nothing():
    # Everything fast but where a plate is touched: the chart is worked out as ever, and no slope of it is there.
    text = re.sub(r"(position|diameter|chimney|end)_mm = \[([\d.]+), [\d.]+\]", r"\1_mm = \2", KEYED)
    problem = Problem(parse_project(text, "pipe.toml", rule_out=False))
    assert [name.partition(".")[0] for name in problem.parametrisation.names] == ["touch_offset_mm"]
    values, slopes = problem.evaluate(problem.parametrisation.low)
    assert np.isfinite(values.errors).all()
    assert not slopes.errors.any()
    assert slopes.errors.shape == (len(problem.notes), 1)
