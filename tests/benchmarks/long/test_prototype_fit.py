"""Fits of a measured instrument against SciPy from nothing, and bands of thirty prototypes."""

import numpy as np
import pytest
from prototypes import drawn, draws, heard, hold_nine_of_ten
from scipy.optimize import least_squares

from optimizer.prototype.calibration import Fit
from optimizer.prototype.map_fit import FREEDOM, cost
from optimizer.prototype.played_model import played


@pytest.fixture(scope="module")
def model(record):
    """The practice pipe as it may have been made and played."""
    return played(record)


def every_line(record):
    return list(range(len(record.notes)))


def test_the_fit_is_where_scipy_finds_the_least(record, model):
    # SciPy 1.14 and later, trust region reflective, by its own differences, with the same loss: squares up to 1,
    # Student's t beyond; one note is 40 cents off, so that the loss matters.
    measured = heard(record, drawn(model, 3), every_line(record), 3)
    notes = list(measured.notes)
    notes[1] = notes[1].model_copy(update={"cents": notes[1].cents + 40.0})
    fit = Fit(record, measured.model_copy(update={"notes": notes}))
    observed = fit.observed

    def rows(theta):
        off = (observed.cents - fit.model.cents(theta)[observed.notes]) / observed.sd
        return np.concatenate([off, theta])

    def loss(square):
        far = np.arange(square.size) < len(observed.notes)
        far &= square > 1.0
        beyond = np.maximum(square, 1.0)
        value = np.where(far, 1.0 + (FREEDOM + 1.0) * np.log((FREEDOM + beyond) / (FREEDOM + 1.0)), square)
        first = np.where(far, (FREEDOM + 1.0) / (FREEDOM + beyond), 1.0)
        second = np.where(far, -(FREEDOM + 1.0) / (FREEDOM + beyond) ** 2, 0.0)
        return np.array([value, first, second])

    by_scipy = least_squares(rows, np.zeros(len(fit.model.names)), "3-point", loss=loss, xtol=1e-12, ftol=1e-14)
    assert cost(fit.found) == pytest.approx(2.0 * by_scipy.cost, rel=1e-6)
    assert fit.found.theta == pytest.approx(by_scipy.x, abs=3e-4)
    assert fit.found.weight[1] < 0.2 < np.min(np.delete(fit.found.weight, 1))


def test_bands_of_notes_that_were_not_played_hold_what_these_are(record, model):
    inside, off, doubt = [], [], []
    for seed in range(draws(30)):
        prototype = drawn(model, seed)
        fit = Fit(record, heard(record, prototype, every_line(record)[:-2], seed))
        cents, sd = fit.of_instrument
        inside.append(np.abs(cents - prototype.cents)[-2:] < 1.645 * sd[-2:])
        off += list((cents - prototype.cents)[-2:])
        doubt += list((model.layout.cents - prototype.cents)[-2:])
    assert hold_nine_of_ten(inside)
    assert np.std(off) < 0.8 * np.std(doubt)
