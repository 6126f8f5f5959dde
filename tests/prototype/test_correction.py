"""Corrections of invented instruments: what each change does, that no limit is broken, and that passes help."""

import numpy as np
import pytest
from corrections import carried_out
from hypothesis import given, settings
from hypothesis import strategies as st
from made_records import layout
from places import CONFIGS
from prototypes import fitted

from acoustics.resonances import chart_errors
from optimizer.project.bends import Bend
from optimizer.project.faults import Fault
from optimizer.project.loading import load_project
from optimizer.prototype.bench import Bench
from optimizer.prototype.changes import KINDS, Change, as_corrected, changed
from optimizer.prototype.correction import Correction, corrected
from optimizer.prototype.kept_limits import OF_LIMITS, KeptLimits
from optimizer.prototype.played_model import played
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord
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


@pytest.mark.parametrize(("kind", "by"), [("crook out", 2.0), ("crook cut", -2.0)])
def test_what_is_on_the_crook_stays_where_the_body_moves(kind, by):
    whole = read_record(CONFIGS / "prototypes" / "lantern-tenor.json", LayoutRecord)
    end = whole.bore.crook_end_mm
    made = changed(whole, [Change(kind, "", 2.0)])
    moved = {new.id: new.position_mm - old.position_mm for new, old in zip(made.holes, whole.holes, strict=True)}
    on_it = {hole.id for hole in whole.holes if hole.position_mm < end}
    assert on_it == {"v2"}
    assert moved == pytest.approx({name: 0.0 if name in on_it else by for name in moved})
    assert made.bore.crook_end_mm == pytest.approx(end + min(by, 0.0))
    assert made.pieces[0].from_mm == pytest.approx(whole.pieces[0].from_mm + by)


def test_bends_of_a_folded_body_move_with_it():
    whole = layout()
    bends = [Bend(id="low", at_mm=100.0, radius_mm=25.0, toward_deg=90.0)]
    whole = whole.model_copy(update={"bore": whole.bore.model_copy(update={"crook_end_mm": 50.0, "bends": bends})})
    for kind, place in (("crook out", 102.0), ("crook cut", 98.0)):
        assert [bend.at_mm for bend in changed(whole, [Change(kind, "", 2.0)]).bore.bends] == [place]


def test_a_lining_makes_the_bore_of_one_piece_narrower(printed):
    # Half way along its piece by all of it, at its ends and beyond by nothing; the holes' chimneys are not touched.
    place = next(each.place for each in Bench(printed, None).candidates if each.kind == "lining" and "1" in each.place)
    made = changed(printed, [Change("lining", place, 0.2)])
    piece = printed.pieces[0]
    end = piece.to_mm if piece.end_mm is None else piece.end_mm
    places = [piece.from_mm, 0.5 * (piece.from_mm + end), end, printed.bore.points_mm[-1][0]]
    narrower = [
        np.interp(places, *np.array(before.bore.points_mm).T) - np.interp(places, *np.array(after.bore.points_mm).T)
        for before, after in [(printed, made)]
    ]
    assert narrower[0] == pytest.approx([0.0, 0.2, 0.0, 0.0], abs=1e-9)
    inside = [hole for hole in printed.holes if hole.position_mm < end]
    assert inside
    for hole, was in zip(made.holes, printed.holes, strict=True):
        assert was.bore_diameter_mm - hole.bore_diameter_mm == pytest.approx(0.2 * (was in inside))
        assert (hole.diameter_mm, hole.chimney_mm) == (was.diameter_mm, was.chimney_mm)


def test_a_bell_is_cut_where_its_piece_is_lined(printed):
    place = [each.place for each in Bench(printed, None).candidates if each.kind == "lining"][-1]
    end = printed.bore.points_mm[-1][0]
    lined = changed(printed, [Change("lining", place, 0.2), Change("bell cut", "", 3.0)])
    places = [point[0] for point in lined.bore.points_mm]
    assert places == sorted(places)
    assert places[-1] == pytest.approx(end - 3.0)
    assert np.all(np.isfinite(Bench(lined, None).moved([Change("ream", printed.holes[0].id, 0.1)])))


@pytest.fixture(scope="module")
def tenor():
    """The tenor of the shelf, whose holes are held to be even, and its limits."""
    record = read_record(CONFIGS / "prototypes" / "lantern-tenor.json", LayoutRecord)
    loaded = load_project(CONFIGS / "lantern-tenor.toml", rule_out=False)
    return record, loaded


def test_limits_of_venting_are_kept_as_the_others(tenor):
    # By its file, h04 has 0.015 mm to spare of its least size, and beside h03 0.014 mm of the greatest step.
    record, loaded = tenor
    assert record.margins_mm["size.h04"] == 0.015
    assert record.margins_mm["step.h03-h04"] == 0.014
    bench = Bench(record, KeptLimits(loaded, record))
    assert bench.kept([Change("ring", "h04", 0.3)]) == []
    assert bench.kept([Change("ream", "h03", 0.2)]) == []
    free = [Change("ream", "h06", 0.2)]
    assert bench.kept(free) == free


def test_limits_that_are_broken_already_are_told(tenor):
    record, loaded = tenor
    narrow = record.model_copy(update={"holes": [
        hole.model_copy(update={"diameter_mm": hole.diameter_mm - 0.2}) if hole.id == "h04" else hole
        for hole in record.holes
    ]})  # fmt: skip
    told = KeptLimits(loaded, narrow).broken
    assert any(each.startswith("not so already, by 0.18 mm") and "h04 has at least" in each for each in told)
    assert KeptLimits(loaded, record).broken == []


@settings(max_examples=1)
@given(seed=st.integers(0, 10_000), tolerance=st.sampled_from([4.0, 8.0]))
def test_no_list_breaks_a_limit(record, model, problem, limits, seed, tolerance):
    dice = np.random.default_rng(seed)
    fit = fitted(record, model, 1)
    work = Correction(record, fit, problem.loaded)
    work.errors = dice.normal(-6.0, 8.0, len(work.errors))
    changes, _ = work.best(tolerance, 1.0)
    assert changes
    assert np.max(limits.broken_by(changed(record, [each for each in changes if each.kind in OF_LIMITS]))) <= 1e-6


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


def test_two_passes_bring_an_instrument_into_tune(record, problem):
    before, after = carried_out(record, problem.loaded, 2, seconds=0.5)
    assert after < 0.5 * before
