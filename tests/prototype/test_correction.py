"""Corrections of invented instruments: what each change does, that no limit is broken, and that passes help."""

import numpy as np
import pytest
from corrections import carried_out
from hypothesis import given, settings
from hypothesis import strategies as st
from prototypes import drawn, heard

from acoustics.resonances import chart_errors
from optimizer.project.faults import Fault
from optimizer.prototype.bench import Bench
from optimizer.prototype.calibration import calibrated
from optimizer.prototype.changes import KINDS, Change, changed
from optimizer.prototype.correction import Correction, as_corrected, corrected
from optimizer.prototype.kept_limits import KeptLimits
from optimizer.prototype.played_model import played
from optimizer.solving.real_resonances import predict, record_duct


@pytest.fixture(scope="module")
def model(record):
    """The practice pipe as it may have been made and played."""
    return played(record)


@pytest.fixture(scope="module")
def limits(problem, record):
    """The practice pipe's limits."""
    return KeptLimits(problem.loaded, record)


@pytest.fixture(scope="module")
def bench(record, limits):
    """The practice pipe at the bench."""
    return Bench(record, limits)


def fitted(record, model, seed):
    prototype = drawn(model, seed)
    return calibrated(record, heard(record, prototype, range(len(record.notes)), seed, model))


def test_limits_of_the_layout_are_those_of_its_record(record, limits):
    # Layout files round margins to a thousandth of a millimetre, as all lengths.
    found = dict(zip(limits.names, limits.broken_by(record) + limits.least, strict=True))
    told = {name: margin for name, margin in record.margins_mm.items() if name in found}
    assert len(told) > 20
    assert {name: -found[name] for name in told} == pytest.approx(told, abs=0.001)


def test_every_change_moves_each_note_as_the_changed_layout_has_it(record, bench):
    # The real resonances of the changed layout, found by a scan of its own, against the two steps of Newton's method.
    for each in bench.candidates:
        change = each.of(KINDS[each.kind].least)
        notes = predict(changed(record, [change]))
        scanned = [notes[line].cents - record.notes[line].cents for line in bench.lines]
        assert bench.moved([change]) == pytest.approx(scanned, abs=0.02), change


def test_slopes_hold_for_small_changes(bench):
    columns = bench.columns()
    for number, each in enumerate(bench.candidates):
        least = KINDS[each.kind].least
        half = bench.moved([each.of(0.5 * least)])
        assert 0.5 * least * columns.slopes[:, number] == pytest.approx(half, abs=0.1 + 0.1 * np.max(np.abs(half)))


def test_what_is_pulled_out_and_cut_off_again_is_as_it_was(record, bench):
    # A crook pulled out by a cylinder has that cylinder still, but the body stands where it stood.
    out = changed(record, [Change("crook out", "", 2.0)])
    back = changed(out, [Change("crook cut", "", 0.0)])
    moved = [new.position_mm - old.position_mm for new, old in zip(out.holes, record.holes, strict=True)]
    assert moved == pytest.approx([2.0] * len(moved))
    assert out.bore.points_mm[-1][0] == pytest.approx(record.bore.points_mm[-1][0] + 2.0)
    assert out.pieces[0].from_mm == record.pieces[0].from_mm + 2.0 if record.pieces else True
    errors = [chart_errors(record_duct(each), bench.openness, bench.frequency) for each in (out, back)]
    assert errors[0] == pytest.approx(errors[1], abs=1e-6)


@settings(max_examples=6)
@given(seed=st.integers(0, 10_000), tolerance=st.sampled_from([4.0, 8.0]))
def test_no_list_breaks_a_limit(record, model, problem, limits, seed, tolerance):
    dice = np.random.default_rng(seed)
    fit = fitted(record, model, 1)
    work = Correction(record, fit, problem.loaded)
    work.errors = dice.normal(-6.0, 8.0, len(work.errors))
    changes, _ = work.best(tolerance, 1.0)
    assert changes
    assert np.max(limits.broken_by(changed(record, [each for each in changes if "crook" not in each.kind]))) <= 1e-6


def test_steps_tell_what_they_do_and_what_cannot_be_taken_back_comes_last(record, model, problem):
    found, layout = corrected(record, fitted(record, model, 5), problem.loaded, seconds=1.0)
    assert found.steps
    for step in found.steps:
        alone = predict(changed(record, [Change(step.kind, step.place, step.whole)]))
        moved = [alone[note.line].cents - record.notes[note.line].cents for note in found.notes]
        assert step.moves == pytest.approx(moved, abs=0.02)
        assert step.reversible or abs(step.now) <= abs(step.whole)
    reversible = [step.reversible for step in found.steps]
    assert reversible == sorted(reversible, reverse=True)
    after = [note.cents + layout.notes[note.line].cents - record.notes[note.line].cents for note in found.notes]
    assert [note.after_pass_cents for note in found.notes] == pytest.approx(after, abs=0.05)


def test_an_instrument_in_tune_gets_no_list(record, model, problem):
    fit = fitted(record, model, 5)
    notes = [note.model_copy(update={"cents": 3.0 * (-1) ** n}) for n, note in enumerate(fit.notes)]
    found, layout = corrected(record, fit.model_copy(update={"notes": notes}), problem.loaded)
    assert found.steps == []
    assert "nothing to change" in found.remarks[0]
    assert layout.holes == record.holes


def test_a_fit_of_another_layout_is_refused(record, model, problem):
    other = as_corrected(record, [Change("ream", record.holes[0].id, 0.3)], 1)
    with pytest.raises(Fault, match="another layout"):
        corrected(other, fitted(record, model, 5), problem.loaded)


def test_two_passes_bring_instruments_into_tune(record, problem):
    rms = np.array([carried_out(record, problem.loaded, seed, seconds=1.0) for seed in range(12)])
    listed = rms[~np.isnan(rms[:, 1])]
    assert len(listed) >= 8
    assert np.median(listed[:, 1]) < 0.5 * np.median(listed[:, 0])
    assert np.max(listed[:, 1] - listed[:, 0]) <= 0.5
