"""The fit of a measured instrument, held against SciPy and against instruments drawn at random."""

import numpy as np
import pytest
from prototypes import NOTE_CENTS, drawn, draws, heard

from optimizer.project.faults import Fault
from optimizer.prototype.calibration import Fit, calibrated, calibration_of
from optimizer.prototype.gauged_numbers import row_of
from optimizer.prototype.map_fit import FREEDOM, cost
from optimizer.prototype.played_model import PITCH, played
from optimizer.prototype.suspects import LEAK, patterns
from optimizer.records.gauge import GaugedValue


@pytest.fixture(scope="module")
def model(record):
    """The practice pipe as it may have been made and played."""
    return played(record)


def every_line(record):
    return list(range(len(record.notes)))


def test_nothing_beside_the_fit_is_as_good(record, model):
    # Squares up to 1, Student's t beyond, and the square of every number; one note is 40 cents off, so that it matters.
    measured = heard(record, drawn(model, 3), every_line(record), 3)
    notes = list(measured.notes)
    notes[1] = notes[1].model_copy(update={"cents": notes[1].cents + 40.0})
    fit = Fit(record, measured.model_copy(update={"notes": notes}))
    observed = fit.observed

    def loss(theta):
        square = ((observed.cents - fit.model.cents(theta)[observed.notes]) / observed.sd) ** 2
        beyond = 1.0 + (FREEDOM + 1.0) * np.log((FREEDOM + np.maximum(square, 1.0)) / (FREEDOM + 1.0))
        return np.sum(np.where(square > 1.0, beyond, square)) + np.sum(theta**2)

    least = loss(fit.found.theta)
    assert cost(fit.found) == pytest.approx(least, rel=1e-6)
    for way in np.eye(len(model.names)):
        assert min(loss(fit.found.theta + 0.02 * way), loss(fit.found.theta - 0.02 * way)) > least
    assert fit.found.weight[1] < 0.2 < np.min(np.delete(fit.found.weight, 1))


def test_slopes_are_those_of_the_exact_model(model):
    # Central differences by two steps, the error of the second order taken out (Richardson 1911).
    theta = 0.5 * np.random.default_rng(2).standard_normal(len(model.names))
    found = model.slopes(theta, model.cents(theta))
    for number in range(len(theta)):
        way = (np.arange(len(theta)) == number).astype(float)
        near, far = (
            (model.cents(theta + step * way) - model.cents(theta - step * way)) / (2.0 * step) for step in (0.02, 0.04)
        )
        assert found[:, number] == pytest.approx((4.0 * near - far) / 3.0, abs=1e-4)


def test_the_covariance_is_that_of_the_textbook(record, model):
    # Gelman and others, Bayesian Data Analysis, 14.8 (from memory): (J' R^-1 J + I)^-1.
    fit = Fit(record, heard(record, drawn(model, 4), every_line(record), 4))
    rows, sd = fit.found.rows, fit.found.sd / np.sqrt(fit.found.weight)
    textbook = np.linalg.inv((rows / sd[:, None] ** 2).T @ rows + np.eye(rows.shape[1]))
    assert fit.found.covariance == pytest.approx(textbook, abs=1e-9)


def test_notes_that_were_not_played_are_foretold(record, model):
    off, doubt = [], []
    for seed in range(draws(4)):
        prototype = drawn(model, seed)
        cents, _ = Fit(record, heard(record, prototype, every_line(record)[:-2], seed)).of_instrument
        off += list((cents - prototype.cents)[-2:])
        doubt += list((model.layout.cents - prototype.cents)[-2:])
    assert np.std(off) < 0.8 * np.std(doubt)


def gauged_hole(record, place, off, sd=0.01):
    hole = record.holes[place]
    return GaugedValue(
        what="hole", where=hole.id, value_mm=hole.diameter_mm + off, sd_mm=sd, readings=2, tools=["pins"]
    )


def test_a_measured_hole_counts_beside_the_notes(record, model):
    measured = heard(record, drawn(model, 5), every_line(record), 5)
    found = calibrated(record, measured, [gauged_hole(record, 0, 0.4)])
    row = row_of(model, "hole", record.holes[0].id)
    assert row @ [one.mean / one.prior_sd for one in found.numbers] == pytest.approx(0.4, abs=0.01)
    assert found.fitted_on[1] == f"diameter of {record.holes[0].id} +0.4 +- 0.01 mm"


def test_a_hole_that_was_gauged_counts_though_fewer_numbers_explain_the_notes(record, model):
    # Textbook: of a reading to within e of a diameter that errs by s in itself and by s with all others, its own number
    # takes s^2 / (2 s^2 + e^2) where the notes say nothing; s = 0.1 and e = 0.2 here.
    measured = heard(record, drawn(model, 5)._replace(cents=model.layout.cents), every_line(record)[:3], 5)
    vague = [note.model_copy(update={"sd_cents": 1e4}) for note in measured.notes]
    fit = Fit(record, measured.model_copy(update={"notes": vague}), [gauged_hole(record, 0, 0.06, 0.2)])
    own = model.names.index(f"diameter of {record.holes[0].id}")
    assert len(fit.judged) == 1
    assert fit.at.theta[own] * 0.1 == pytest.approx(0.06 / 6, rel=0.05)
    assert fit.at.covariance[own, own] == pytest.approx(1 - 1 / 6, rel=0.05)


def test_what_a_gauge_reads_follows_from_all_that_makes_it(record, model):
    # On paper: a hole's diameter by its own deviation, by that of all, and by shrinkage of a thousandth.
    hole = record.holes[1]
    by = dict(zip(model.names, row_of(model, "hole", hole.id), strict=True))
    moved = {name: each for name, each in by.items() if each}
    assert moved == pytest.approx(
        {f"diameter of {hole.id}": 0.1, "all printed holes alike": 0.1, "shrinkage": 0.001 * hole.diameter_mm}
    )
    by = dict(zip(model.names, row_of(model, "length", "bell"), strict=True))
    assert {name: each for name, each in by.items() if each} == pytest.approx(
        {"shrinkage": 0.001 * record.bore.points_mm[-1][0]}
    )
    by = dict(zip(model.names, row_of(model, "bore", "165.0"), strict=True))
    bore = np.interp(165.0, *np.array(record.bore.points_mm).T)
    # What shrinks moves past a place that stays: the cone is narrower there by as much as it is wider all along.
    assert {name: each for name, each in by.items() if each} == pytest.approx(
        {"bore of the body": 0.1, "shrinkage": 0.001 * bore}
    )


def test_all_holes_gauged_alike_say_so_of_the_printer(record, model):
    # Textbook: of n equal readings the common part takes n s^2 / (n s^2 + e^2) of the offset, s = e = 0.1 here.
    measured = heard(record, drawn(model, 5)._replace(cents=model.layout.cents), every_line(record)[:3], 5)
    vague = [note.model_copy(update={"sd_cents": 1e4}) for note in measured.notes]
    readings = [gauged_hole(record, place, 0.3, 1e-4) for place in range(len(record.holes))]
    fit = Fit(record, measured.model_copy(update={"notes": vague}), readings)
    common = fit.found.theta[model.names.index("all printed holes alike")] * 0.1
    assert common == pytest.approx(0.3 * 4 / 5, abs=0.002)


def test_a_leak_is_told_as_one(record, model):
    # A prototype as drawn but for one hole that leaks under its finger: the notes that it is closed for go sharp.
    shut = [key for key in patterns(model) if key[0] == LEAK]
    pattern = max((patterns(model)[key] for key in shut), key=np.ptp)
    hole = next(key[1] for key in shut if np.array_equal(patterns(model)[key], pattern))
    still = drawn(model, 1)._replace(cents=model.layout.cents + pattern * 60.0 / np.max(pattern), lift=0.0)
    fit = Fit(record, heard(record, still, every_line(record), 1))
    said = calibration_of(fit)
    assert f"{hole} leaked" in " ".join(said.looks_like) or f"a leak at {hole}" in " ".join(said.looks_like)
    assert said.outside


def test_a_pipe_as_drawn_needs_no_more_than_reed_and_air(record, model):
    still = drawn(model, 1)._replace(cents=model.layout.cents, lift=0.0)
    found = calibrated(record, heard(record, still, every_line(record), 8))
    assert [tier.fair for tier in found.tiers] == [True]
    assert found.looks_like == found.outside == []
    single = [one for one in found.numbers if one.tier == 3]
    assert single
    assert all((one.mean, one.left) == (0.0, pytest.approx(1.0)) for one in single)


def test_a_measurement_at_another_a4_says_the_same(record, model):
    measured = heard(record, drawn(model, 6), every_line(record), 6)
    lower = 1200.0 * np.log2(442.0 / 440.0)
    notes = [note.model_copy(update={"cents": note.cents - lower}) for note in measured.notes]
    assert measured.a4_hz == 440.0
    other = measured.model_copy(update={"a4_hz": 442.0, "notes": notes})
    for one, same in zip(calibrated(record, measured).notes, calibrated(record, other).notes, strict=True):
        assert same.cents == pytest.approx(one.cents, abs=1e-6)
        assert same.measured_cents == pytest.approx(one.measured_cents, abs=1e-9)


def test_cracked_notes_are_left_out_and_told(record, model):
    measured = heard(record, drawn(model, 7), every_line(record), 7)
    notes = [measured.notes[0].model_copy(update={"flags": ["cracked"], "cents": 300.0}), *measured.notes[1:]]
    found = calibrated(record, measured.model_copy(update={"notes": notes}))
    assert found.notes[0].measured_cents is None
    assert found.remarks == [f"{notes[0].written} is cracked: left out"]


def test_what_cannot_be_fitted_is_told(record, model):
    measured = heard(record, drawn(model, 7), every_line(record), 7)
    with pytest.raises(Fault, match="needs 3 measured notes"):
        calibrated(record, measured.model_copy(update={"notes": measured.notes[:2]}))
    with pytest.raises(Fault, match="hole h99 was gauged, but the layout has none"):
        calibrated(record, measured, [gauged_hole(record, 0, 0.1).model_copy(update={"where": "h99"})])


def test_how_high_the_player_blows_is_no_part_of_the_instrument(record, model):
    prototype = drawn(model, 11)
    one, other = (
        calibrated(record, heard(record, prototype._replace(lift=lift), every_line(record), 11)) for lift in (0.0, 3.0)
    )
    lifted = next(number for number in other.numbers if number.name == PITCH)
    assert lifted.mean > next(number for number in one.numbers if number.name == PITCH).mean
    assert NOTE_CENTS > 3.0 > max(b.cents - a.cents for a, b in zip(one.notes, other.notes, strict=True))
