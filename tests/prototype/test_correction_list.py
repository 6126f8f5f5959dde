"""Which few changes are chosen, held against every way of choosing tried in turn, each by SciPy's linear programmes."""

from itertools import combinations

import numpy as np
import pytest
import scipy

from optimizer.prototype.correction_list import DEAR, EACH, GAP, Columns, chosen


def drawn(seed, notes=9, count=6):
    """Columns and errors that two or three changes mend, from the fifth seed on but for what stays out; each second
    pair of columns excludes one another."""
    dice = np.random.default_rng(seed)
    slopes = dice.normal(0.0, 4.0, (notes, count))
    true = np.where(np.arange(count) < 2 + seed % 2, dice.uniform(0.4, 1.5, count), 0.0)
    rows = np.abs(dice.normal(0.0, 1.0, (2, count)))
    columns = Columns(
        slopes, np.full(count, 0.3), np.full(count, 2.0), dice.uniform(0.5, 2.5, count),
        np.array([0, 1, 2, 3, 3, 2])[:count], rows, rows @ true + 0.2,
    )  # fmt: skip
    return columns, -slopes @ true + dice.normal(0.0, 1.0, notes), np.full(notes, 3.0 if seed < 5 else 0.5)


def cost_of(columns, errors, allowed, wanted):
    """Cost of given changes with amounts that leave the notes least far out, by SciPy's linear programme."""
    some = list(wanted)
    bounds = [(columns.least[j], columns.most[j]) for j in some]
    found = programme(columns, errors, allowed, some, np.zeros(len(some)), bounds)
    return np.inf if found.x is None else columns.cost[some].sum() + found.fun


def programme(columns, errors, allowed, some, cost, bounds):
    """Least cost of amounts and of what the notes stay out by, the worst and each."""
    notes, slopes = len(errors), columns.slopes[:, some]
    each, worst, none = np.eye(notes), np.ones((notes, 1)), np.zeros((notes, 1))
    return scipy.optimize.linprog(
        [*cost, *[EACH] * notes, DEAR],
        A_ub=np.vstack([
            np.hstack([slopes, -each, none]),
            np.hstack([-slopes, -each, none]),
            np.hstack([0.0 * slopes, each, -worst]),
            np.hstack([columns.rows[:, some], np.zeros((len(columns.room), notes + 1))]),
        ]),
        b_ub=np.concatenate([allowed - errors, allowed + errors, np.zeros(notes), columns.room]),
        bounds=[*bounds, *[(0.0, None)] * (notes + 1)],
    )  # fmt: skip


@pytest.mark.parametrize("seed", range(8))
def test_no_other_choice_of_changes_is_cheaper(seed):
    columns, errors, allowed = drawn(seed)
    count = columns.cost.size
    every = [
        wanted
        for size in range(count + 1)
        for wanted in combinations(range(count), size)
        if len({columns.group[j] for j in wanted}) == size
    ]
    least = min(cost_of(columns, errors, allowed, wanted) for wanted in every)
    found = chosen(errors, allowed, columns, 20.0)
    on = np.flatnonzero(found.amounts)
    out = np.maximum(np.abs(errors + columns.slopes @ found.amounts) - allowed, 0.0)
    mine = columns.cost[on].sum() + DEAR * found.out + EACH * out.sum()
    assert found.proved
    assert seed < 5 or found.out > 0.0
    assert mine <= least * (1.0 + GAP) + 0.01
    assert mine >= relaxed(columns, errors, allowed) - 1e-6
    assert len(set(columns.group[on])) == len(on)
    assert np.all(found.amounts[on] >= columns.least[on])
    assert np.all(found.amounts <= columns.most)
    assert np.all(columns.rows @ found.amounts <= columns.room + 1e-6)
    assert np.max(np.abs(errors + columns.slopes @ found.amounts) - allowed) <= found.out + 1e-6


def relaxed(columns, errors, allowed):
    """What shares of changes would cost: no whole ones cost less."""
    every = list(range(columns.cost.size))
    bounds = [(0.0, most) for most in columns.most]
    return programme(columns, errors, allowed, every, columns.cost / columns.most, bounds).fun


def test_nothing_is_changed_where_all_is_within(capfd):
    columns, errors, _ = drawn(1)
    found = chosen(errors, np.abs(errors) + 0.01, columns, 5.0)
    assert not np.any(found.amounts)
    assert found.out == 0.0


def test_the_solver_says_nothing(capfd):
    columns, errors, allowed = drawn(2)
    chosen(errors, allowed, columns, 5.0)
    assert capfd.readouterr().out == ""
