"""Corrections of many invented instruments: no limit is broken, no other list is cheaper, and passes help."""

from itertools import combinations

import numpy as np
import pytest
from corrections import carried_out
from hypothesis import given, settings
from hypothesis import strategies as st
from prototypes import draws, fitted

from optimizer.prototype.changes import KINDS, changed
from optimizer.prototype.correction import Correction
from optimizer.prototype.correction_list import DEAR, EACH, settled
from optimizer.prototype.kept_limits import OF_LIMITS, KeptLimits
from optimizer.prototype.played_model import played


@pytest.fixture(scope="module")
def model(record):
    """The practice pipe as it may have been made and played."""
    return played(record)


@pytest.fixture(scope="module")
def limits(problem, record):
    """The practice pipe's limits."""
    return KeptLimits(problem.loaded, record)


@settings(max_examples=6)
@given(seed=st.integers(0, 10_000), tolerance=st.sampled_from([4.0, 8.0]))
def test_no_list_breaks_a_limit(record, model, problem, limits, seed, tolerance):
    dice = np.random.default_rng(seed)
    fit = fitted(record, model, 1)
    work = Correction(record, fit, problem.loaded)
    work.errors = dice.normal(-6.0, 8.0, len(work.errors))
    changes, _ = work.best(tolerance, 1.0)
    assert changes
    assert np.max(limits.broken_by(changed(record, [each for each in changes if each.kind in OF_LIMITS]))) <= 1e-6


def test_no_other_list_is_cheaper_by_the_exact_model(record, model, problem):
    # Every list of up to two of eight changes of the pipe, its amounts settled as those of the list that was chosen
    # by slopes; what each does to the notes by the exact model. The choice may be off by its gap, a hundredth.
    work = Correction(record, fitted(record, model, 1), problem.loaded)
    work.errors, work.sd = np.random.default_rng(0).normal(-3.0, 10.0, len(work.errors)), np.ones(len(work.errors))
    work.bench.candidates = work.bench.candidates[:2] + work.bench.candidates[3:9]
    work.columns, allowed = work.bench.columns(), work.allowed(5.0)
    count, tried = work.columns.cost.size, []
    for wanted in (list(each) for size in (1, 2) for each in combinations(range(count), size)):
        if len(set(work.columns.group[wanted])) == len(wanted):
            changes = settled_exactly(work, allowed, np.isin(np.arange(count), wanted))
            tried.append(bill(work, changes, allowed))
    changes, _ = work.best(5.0, 5.0)
    assert len(tried) > 25
    assert len(changes) == 2
    assert bill(work, changes, allowed) <= min(tried) * 1.01 + 0.01


def settled_exactly(work, allowed, wanted):
    """Given changes by the amounts that leave the least error, slopes put right by the exact model twice."""
    found = settled(work.errors, allowed, work.columns, wanted)
    for _ in range(2):
        amounts = work.bench.amounts(work.bench.changes(found.amounts))
        bent = work.bench.moved(work.bench.changes(amounts)) - work.columns.slopes @ amounts
        found = settled(work.errors + bent, allowed, work.columns, wanted)
    return work.bench.kept(work.bench.changes(found.amounts))


def bill(work, changes, allowed):
    """What a list costs as its choice counts it, by where the exact model has it leave the notes."""
    out = np.maximum(np.abs(work.after(changes)) - allowed, 0.0)
    return sum(KINDS[each.kind].cost for each in changes) + DEAR * np.max(out) + EACH * np.sum(out)


def test_two_passes_bring_instruments_into_tune(record, problem):
    rms = np.array([carried_out(record, problem.loaded, seed, seconds=0.5) for seed in range(draws(6))])
    listed = rms[~np.isnan(rms[:, 1])]
    assert len(listed) >= len(rms) * 2 / 3
    assert np.median(listed[:, 1]) < 0.5 * np.median(listed[:, 0])
    assert np.max(listed[:, 1] - listed[:, 0]) <= 0.5
