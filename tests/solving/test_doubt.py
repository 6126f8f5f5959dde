"""The doubt of a difference: laws of SciPy's distributions, exact moments, draws through the whole model."""

from dataclasses import replace

import numpy as np
import pytest
import scipy
from shelf import PIPE, pipe

from optimizer.analysis.sensitivity import normal_draws, sensitivity, shifts
from optimizer.geometry.deviations import OF_HOLES, PER_HOLE
from optimizer.project.model import SearchSection
from optimizer.project.uncertainty import Uncertainty
from optimizer.records.sameness import Sameness, widths
from optimizer.solving.doubt import Doubted, doubt_of_difference, doubted, sameness
from optimizer.solving.figures_of_merit import figures

DRAWN = 0.04
"""4000 draws give a standard deviation good to 1.2 %; three times that."""


def notes(errors, own=None, shared=None, weight=None):
    """Notes by hand, all main ones."""
    errors = np.asarray(errors, float)
    own = {"diameter": np.zeros((errors.size, 0)) if own is None else np.asarray(own, float)}
    shared = {name: np.asarray(by, float) for name, by in (shared or {}).items()}
    weight = np.ones(errors.size) if weight is None else np.asarray(weight, float)
    return Doubted(errors, weight, np.ones(errors.size, bool), own, shared)


def tuning(first, second):
    return doubt_of_difference(first, second)["tuning"]


@pytest.mark.parametrize("count", [1, 2, 5, 30])
def test_layouts_in_tune_as_computed_differ_as_chi_distributed_numbers(count):
    # T = |z| / sqrt(N) of N independent standard normal numbers: the chi distribution, SciPy's; two of them.
    layout = notes(np.zeros(count), np.eye(count))
    expected = np.sqrt(2.0) * scipy.stats.chi.std(count) / np.sqrt(count)
    assert tuning(layout, layout) == pytest.approx(expected, rel=DRAWN)


@pytest.mark.parametrize("error", [0.3, 1.0, 4.0])
def test_between_no_error_and_large_ones_the_noncentral_law_holds(error):
    # N T^2 is noncentral chi-squared with N degrees of freedom and noncentrality N e^2 (SciPy's).
    law = scipy.stats.ncx2(4, 4 * error**2)
    root = law.expect(np.sqrt)
    expected = np.sqrt(2.0 * (law.mean() - root**2) / 4.0)
    layout = notes(np.full(4, error), np.eye(4))
    assert tuning(layout, layout) == pytest.approx(expected, rel=DRAWN)


def test_large_errors_leave_the_slope():
    # T = |e + d|: d counts along e alone, weighted; deviations of 0.1 cents beside errors of some 50.
    errors, weight = np.array([50.0, -30.0, 20.0]), np.array([1.0, 2.0, 0.5])
    own = 0.1 * np.array([[1.0, 0.4], [0.2, -1.0], [0.0, 0.7]])
    layout = notes(errors, own, weight=weight)
    size = np.sqrt(np.sum(weight * errors**2) / np.sum(weight))
    along = (weight * errors / (np.sum(weight) * size)) @ own
    assert tuning(layout, layout) == pytest.approx(np.sqrt(2.0) * np.linalg.norm(along), rel=DRAWN)


def test_what_two_layouts_share_cancels_but_for_the_difference_of_its_slopes():
    errors = np.array([40.0, 40.0])
    by = {"bore diameter": [3.0, 5.0]}
    assert tuning(notes(errors, shared=by), notes(errors, shared=by)) == pytest.approx(0.0, abs=1e-12)
    # Mean slope along e: 4 and 4.5 cents; one more name, of one layout alone, counts whole: 0.2.
    other = notes(errors, shared={"bore diameter": [3.5, 5.5], "piece 4": [0.2, 0.2]})
    assert tuning(notes(errors, shared=by), other) == pytest.approx(np.hypot(0.5, 0.2), rel=DRAWN)


def test_the_draws_have_the_moments_of_their_quadratic_forms():
    # Q = T^2 is a quadratic form of normal numbers with exact mean m and covariances (Mathai & Provost, Quadratic Forms
    # in Random Variables, 1992): 2 tr(S S') + 4 e'S e. With many notes sqrt(Q) is straight enough about sqrt(m) for the
    # difference to have (varA / mA + varB / mB - 2 cov / sqrt(mA mB)) / 4; what is left out is of the order 1 / N.
    dice, n = np.random.default_rng(3), 60
    shared = {f"s{k}": dice.normal(0.0, 1.0, n) for k in range(12)}
    turned = {name: by + dice.normal(0.0, 0.3, n) for name, by in shared.items()}
    pair = [
        notes(dice.normal(0.0, 1.0, n), dice.normal(0.0, 0.4, (n, 40)), shared),
        notes(dice.normal(0.0, 2.0, n), dice.normal(0.0, 0.6, (n, 40)), turned),
    ]
    common = [np.stack(list(layout.shared.values()), axis=1) for layout in pair]
    own = [layout.own["diameter"] for layout in pair]
    spread = [common[k] @ common[k].T + own[k] @ own[k].T for k in (0, 1)]
    across = common[0] @ common[1].T
    mean = [(layout.errors @ layout.errors + np.trace(s)) / n for layout, s in zip(pair, spread, strict=True)]

    def covariance(first, second, s):
        return (2.0 * np.sum(s * s) + 4.0 * first.errors @ s @ second.errors) / n**2

    var = [covariance(layout, layout, s) / m for layout, s, m in zip(pair, spread, mean, strict=True)]
    expected = 0.5 * np.sqrt(sum(var) - 2.0 * covariance(*pair, across) / np.sqrt(mean[0] * mean[1]))
    assert tuning(*pair) == pytest.approx(expected, rel=DRAWN + 0.02)


STATED = Uncertainty(
    hole_diameter_mm=0.05, chimney_mm=0.05, position_mm=0.1, bore_diameter_mm=0.02, shrinkage_percent=0.05,
    temperature_degC=0.5, reed_volume_percent=2.0,
)  # fmt: skip


def test_the_doubt_of_two_pipes_is_that_of_draws_through_the_whole_model(record):
    # The second pipe has its holes 0.3 mm wider, a cent or so sharper. Every draw moves both ducts by the same bore,
    # air and reed and by holes of their own, and finds their resonances anew.
    wider = [hole.model_copy(update={"diameter_mm": hole.diameter_mm + 0.3}) for hole in record.holes]
    pair = [sensitivity(record, STATED), sensitivity(record.model_copy(update={"holes": wider}), STATED)]
    pair[1] = pair[1]._replace(cents=pair[1].cents + 1.0)
    per_hole = np.array([source == OF_HOLES for source in pair[0].may.sources])
    draws = [normal_draws(400, per_hole.size, seed) for seed in (5, 6)]
    draws[1][:, ~per_hole] = draws[0][:, ~per_hole]
    weight, main = np.array([note.weight for note in record.notes]), pair[0].main
    drawn = []
    for layout, chance in zip(pair, draws, strict=True):
        moved = shifts(layout, layout.may, np.concatenate([np.zeros((1, per_hole.size)), chance]))
        cents = layout.cents + moved[1:] - moved[0]
        drawn.append([figures(row, weight, main, np.zeros(0)) for row in cents])
    found = doubt_of_difference(*(of_record(layout, weight) for layout in pair))
    for name in ("tuning", "worst_note"):
        apart = [one[name] - other[name] for one, other in zip(*drawn, strict=True)]
        # 400 draws are good to 3.5 %, 4000 to 1.2 %: three times both, and slopes that bend a little.
        assert found[name] == pytest.approx(np.std(apart, ddof=1), rel=0.13)


def of_record(layout, weight):
    """A saved layout's notes with what may move them, the formulas' errors aside, which no duct can be moved by."""
    quality = np.full(layout.cents.size, np.inf)
    found = doubted(layout.found, layout.duct, layout.openness, quality, layout.may, weight, layout.main)
    known = {name: by for name, by in found.shared.items() if not name.startswith("formula")}
    return found._replace(errors=layout.cents, shared=known)


def test_a_projects_sameness_follows_its_holes_alone():
    loaded = pipe(PIPE)

    def with_uncertainty(**stated):
        uncertainty = loaded.project.uncertainty.model_copy(update=stated)
        return sameness(replace(loaded, project=loaded.project.model_copy(update={"uncertainty": uncertainty})))

    plain = sameness(loaded)
    assert plain == sameness(loaded)
    assert plain.stated_cents == SearchSection().same_tuning_cents
    assert 0.0 < plain.doubt_cents["tuning"] < plain.doubt_cents["worst_note"]
    kinds = [kind for kind, _ in PER_HOLE.values()]
    exact = with_uncertainty(**dict.fromkeys(kinds, 0.0))
    assert exact.doubt_cents == {"tuning": 0.0, "worst_note": 0.0}
    assert set(exact.brought_cents.values()) == {0.0}
    twice = with_uncertainty(**{kind: 2.0 * getattr(loaded.project.uncertainty, kind) for kind in kinds})
    assert twice.brought_cents == pytest.approx({word: 2.0 * by for word, by in plain.brought_cents.items()}, abs=0.02)
    assert twice.doubt_cents["tuning"] > 1.3 * plain.doubt_cents["tuning"]


@pytest.mark.parametrize(
    ("stated", "doubt", "expected"),
    [(1.0, 2.4, (2.4, 9.0)), (3.0, 2.4, (3.0, 9.0)), (0.0, 0.0, (0.1, 0.3)), (1.0, 0.0, (1.0, 3.0))],
)
def test_boxes_are_as_wide_as_the_larger_of_what_is_stated_and_what_is_in_doubt(stated, doubt, expected):
    worst = 3.75 * doubt
    same = Sameness(stated_cents=stated, doubt_cents={"tuning": doubt, "worst_note": worst}, brought_cents={})
    found = widths(("stretch", "tuning", "worst_note"), same)
    assert list(found) == ["stretch", "tuning", "worst_note"]
    assert (found["tuning"], found["worst_note"]) == pytest.approx(expected)
    assert found["stretch"] == widths(("stretch",), None)["stretch"] == 1.0


def test_without_a_sameness_boxes_are_as_fine_as_they_were():
    assert widths(("tuning", "worst_note", "unevenness"), None) == {"tuning": 0.1, "worst_note": 0.3, "unevenness": 0.5}
