"""What becomes of a layout's notes, against closed forms, SciPy's distributions, and resonances of changed ducts."""

import copy
import json

import numpy as np
import pytest
import scipy
from made_records import lined, with_crook
from shelf import PIPE, pipe

from acoustics.arrays import map_arrays
from acoustics.plain_duct import PlainDuct
from acoustics.resonances import note_errors, spectrum
from optimizer.analysis.sensitivity import (
    QUANTILE_ERROR,
    chance_within,
    drawn_band,
    drawn_cents,
    linear_band,
    normal_draws,
    sensitivity,
)
from optimizer.analysis.tolerance import tolerance
from optimizer.geometry.build import Build, Stretch, parted
from optimizer.geometry.deviations import by_deviation, deviations, moved_ducts
from optimizer.project.uncertainty import Uncertainty
from optimizer.records.layout import LayoutRecord
from optimizer.records.stock import ToolRecord
from optimizer.search.proposals import Questions
from optimizer.solving.assemble import assemble
from optimizer.solving.figures_of_merit import robustness
from optimizer.solving.real_resonances import predict
from optimizer.solving.uncertainty import variance_shares

NOTHING = dict.fromkeys(Uncertainty.model_fields, 0.0)
SMALL = Uncertainty(
    hole_diameter_mm=0.02, vent_diameter_mm=0.02, chimney_mm=0.03, position_mm=0.04, bore_diameter_mm=0.02,
    crook_bore_mm=0.02, staple_bore_mm=0.02, shrinkage_percent=0.02, temperature_degC=0.3, reed_volume_percent=1.0,
)  # fmt: skip
TUBE = {"bore": [[0, 8.0], [400, 8.0]], "outer": [[0, 12.0], [400, 12.0]]}


def tube(x=300.0, r=3.5, grown=1.0):
    """A cylinder with one open hole, all of it larger by a factor."""
    shapes = {name: [[grown * place, grown * radius] for place, radius in points] for name, points in TUBE.items()}
    return PlainDuct(**shapes, holes=[{"x": grown * x, "r": grown * r, "state": "open"}])


def first_hz(duct):
    return float(duct.resonances(100.0, 500.0).frequency[0])


def slope_of(kind, value):
    """Cents of the tube's first resonance for one standard deviation of one kind, by slopes."""
    plain = tube()
    found = note_errors(plain.duct, plain.openness, np.array([first_hz(plain)]))
    may = deviations(plain.duct, Uncertainty(**NOTHING | {kind: value}))
    return float(np.sum(by_deviation(found.slope, may)))


def cents(f, other):
    return 1200.0 * np.log2(f / other)


@pytest.mark.parametrize(
    ("kind", "value", "less", "more"),
    [
        ("hole_diameter_mm", 0.1, tube(r=3.45), tube(r=3.55)),
        ("position_mm", 0.2, tube(x=299.8), tube(x=300.2)),
        ("shrinkage_percent", 0.1, tube(grown=0.999), tube(grown=1.001)),
    ],
)
def test_one_deviation_by_slopes_is_that_of_two_ducts_drawn_otherwise(kind, value, less, more):
    # Central difference of resonances found on ducts built anew: a diameter 0.1 mm more is a radius 0.05 mm more.
    expected = 0.5 * cents(first_hz(more), first_hz(less))
    assert abs(expected) > 0.3
    assert slope_of(kind, value) == pytest.approx(expected, rel=2e-3)


def test_a_body_larger_by_a_share_sounds_lower_by_that_share():
    # Without losses the wave equation has no length of its own: f goes as 1 / size, so 0.1 % is 1200 log2(1.001) =
    # 1.730 cents. Wall losses, less in a wider tube, take about a hundredth of that.
    assert slope_of("shrinkage_percent", 0.1) == pytest.approx(-1200.0 * np.log2(1.001), rel=0.02)


def crooked(end_mm):
    """A tube with one hole, its crook to a place."""
    crook = Stretch("bore of the crook", "crook_bore_mm", end_mm)
    return Build((crook, Stretch("bore of the body", "bore_diameter_mm", np.inf)), ("g1",), (False,))


def test_the_crook_does_not_shrink_and_pads_do_not_either():
    # 0.5 % of 300 - 100 mm and of the diameters beyond 100 mm; the air and the crook stay.
    build = crooked(100.0)
    duct, stated = parted(tube().duct, build), Uncertainty(**NOTHING | {"shrinkage_percent": 0.5})
    may = deviations(duct, stated, build)
    row = may.names.index("shrinkage")
    moved = map_arrays(lambda value: 1e3 * value[row], may.direction)
    assert moved.holes.position == pytest.approx([1.0])
    assert moved.holes.radius == pytest.approx([0.005 * 3.5])
    assert moved.holes.chimney_height == pytest.approx([0.005 * 4.0])
    assert moved.end_position == pytest.approx(1.5)
    assert moved.bore.position == pytest.approx([0.0, 0.0, 0.0, 1.5])
    assert moved.bore.radius == pytest.approx([0.0, 0.0, 0.04, 0.04])
    assert np.max(np.abs(moved.holes.pad_radius)) == 0.0
    lined = deviations(duct, stated, build._replace(lined=(True,))).direction.holes
    assert np.max(np.abs(lined.radius)) == np.max(np.abs(lined.top_radius)) == 0.0
    assert 1e3 * lined.position[row] == pytest.approx([1.0])
    behind = crooked(350.0)
    inside = deviations(parted(tube().duct, behind), stated, behind)
    assert np.max(np.abs(inside.direction.holes.position)) == np.max(np.abs(inside.direction.holes.radius)) == 0.0


@pytest.fixture(scope="module", params=["in one", "with a crook"])
def layout(record, request):
    return sensitivity(record if request.param == "in one" else with_crook(record), SMALL)


@pytest.fixture(scope="module")
def drawn(layout):
    """400 draws and their cents."""
    draws = normal_draws(400, len(layout.may.names), 5)
    return draws, drawn_cents(layout, draws)


def test_draws_and_slopes_agree_where_deviations_are_small(layout, drawn):
    # The standard deviation of 400 normal numbers is good to 1 / sqrt(2 x 399) = 3.5 %; three of those for five notes.
    _, found = drawn
    by_slopes = np.sqrt(np.sum(layout.by**2, axis=1))
    assert np.min(by_slopes) > 0.5
    assert found.std(axis=0, ddof=1) / by_slopes == pytest.approx(np.ones(5), abs=3.0 / np.sqrt(2 * 399))
    assert np.abs(found.mean(axis=0) - layout.cents) == pytest.approx(np.zeros(5), abs=4.0 * np.max(by_slopes) / 20.0)


def test_each_draw_lies_on_its_own_resonance(record, layout, drawn):
    # The moved duct's spectrum, bracketed and polished, against the two steps from the layout's resonance.
    draws, found = drawn
    row = int(np.argmax(np.max(np.abs(found - layout.cents), axis=1)))
    duct = map_arrays(lambda value: value[0], moved_ducts(layout.duct, layout.may, draws[row : row + 1]))
    spectra = spectrum(duct, layout.openness, 150.0, 2000.0, near=layout.frequency)
    for note, place, heard in zip(record.notes, found[row], spectra, strict=True):
        nearest = heard.frequency[np.argmin(np.abs(heard.frequency - note.frequency_hz))]
        assert place == pytest.approx(cents(nearest, note.target_hz), abs=2e-3)


def test_no_deviation_is_the_layout_itself(record, layout):
    still = drawn_cents(layout, np.zeros((2, len(layout.may.names))))
    assert still == pytest.approx(np.tile([note.cents for note in record.notes], (2, 1)), abs=1e-9)


def test_draws_that_leave_a_hole_without_size_are_refused(record):
    wild = sensitivity(record, Uncertainty(hole_diameter_mm=20.0))
    with pytest.raises(ValueError, match="so large that some draws leave a hole or the bore without size"):
        drawn_cents(wild, normal_draws(20, len(wild.may.names), 1))


def test_bands_are_normal_quantiles():
    band = linear_band(-1.5, 4.0)
    assert [band.p05, band.p50, band.p95] == pytest.approx(scipy.stats.norm(-1.5, 4.0).ppf([0.05, 0.5, 0.95]), rel=1e-9)
    found = drawn_band(scipy.stats.norm(-1.5, 4.0).ppf((np.arange(20_000) + 0.5) / 20_000))
    assert [found.p05, found.p50, found.p95] == pytest.approx([band.p05, band.p50, band.p95], abs=1e-3)
    assert (found.mean, found.sd) == pytest.approx((-1.5, 4.0), rel=1e-3)
    # Asymptotic standard error of a quantile: sqrt(p (1 - p) / n) over the density there.
    assert (
        pytest.approx(np.sqrt(0.05 * 0.95) / scipy.stats.norm.pdf(scipy.stats.norm.ppf(0.05)), rel=1e-9)
        == QUANTILE_ERROR
    )


@pytest.mark.parametrize("count", [2, 3])
def test_the_chance_is_that_of_a_normal_box(count):
    by = np.array([[3.0, 1.0, 0.0], [2.0, -2.0, 1.0], [0.5, 4.0, 2.0]])[:count]
    centre = np.array([1.0, -2.0, 0.5])[:count]
    rows = centre + normal_draws(40_000, 3, 2) @ by.T
    found = chance_within(rows, rows, 5.0)
    box = scipy.stats.multivariate_normal(centre, by @ by.T)
    expected = box.cdf(np.full(count, 5.0), lower_limit=np.full(count, -5.0))
    assert found.share == pytest.approx(expected, abs=4.0 * np.sqrt(expected * (1.0 - expected) / 40_000))
    assert found.linear_share == found.share
    assert found.notes == count


@pytest.mark.parametrize("within", [0, 7, 60])
def test_the_interval_is_wilsons(within):
    rows = np.where(np.arange(60) < within, 1.0, 9.0)[:, None]
    found = chance_within(rows, rows, 5.0)
    expected = scipy.stats.binomtest(within, 60).proportion_ci(0.95, "wilson")
    assert (found.low, found.high) == pytest.approx((expected.low, expected.high), abs=1e-12)


def test_shares_are_of_the_variances_and_make_a_whole(layout):
    # Two notes: 3^2 + 0 against 4^2 + 5^2 of 50 in all.
    assert [(one.name, one.percent) for one in variance_shares(np.array([[3.0, 4.0], [0.0, 5.0]]), ("a", "b"))] == [
        ("b", pytest.approx(82.0)), ("a", pytest.approx(18.0))
    ]  # fmt: skip
    found = variance_shares(layout.by, layout.may.names)
    assert sum(one.percent for one in found) == pytest.approx(100.0)
    assert {"diameter of g1", "position of g4", "bore of the body", "temperature"} <= {one.name for one in found}
    assert variance_shares(np.zeros((2, 2)), ("a", "b")) == []


def test_deviations_are_told_of_what_a_layout_has(record):
    told = {one.kind: one for one in tolerance(with_crook(record), 20, 1, 10.0, 0.5).deviations}
    plain = {one.kind for one in tolerance(record, 20, 1, 10.0, 0.5).deviations}
    only = {"bore of the staple": 0.03, "bore of the crook": 0.05, "diameter of a vent, a lined tube": 0.03}
    assert {kind: told[kind].sd for kind in only} == only
    assert not plain & set(only)
    assert plain == set(told) - set(only)
    assert told["bore of the crook"].source == "the default: common practice for drawn tubes, no source"
    assert told["bore of a printed piece"].source == "the default: common practice for printed parts, no source"


def test_a_tube_of_the_stock_is_told_by_its_tolerance(record):
    tube = ToolRecord(kind="tube", size_mm=2.0, called="3 x 0.5", tolerance_mm=0.06)
    made = lined(record, 3)
    holes = [hole.model_copy(update={"tool": tube}) if hole.role == "vent" else hole for hole in made.holes]
    told = {one.kind: one for one in tolerance(made.model_copy(update={"holes": holes}), 20, 1, 10.0, 0.5).deviations}
    assert "diameter of a vent, a lined tube" not in told
    found = told["diameter of a tube drawn to 0.06 mm either way"]
    assert found.sd == pytest.approx(0.06 / 3**0.5)
    assert found.source == "the stock's tolerance, anything within it as likely"


def test_robustness_is_the_root_mean_square_over_main_notes():
    # Root of (3^2 + 4^2) / 2 = 3.536; an alternate and a silent note do not count.
    assert robustness([3.0, 9.0, 4.0, None], [False, True, False, False]) == pytest.approx(12.5**0.5)


def test_robustness_stands_in_layouts_of_a_search_for_it_alone(problem, outcome, record):
    assert "robustness" not in record.objectives
    wanted = pipe(PIPE + "\n[search.objectives]\nrobustness = true\nstretch = false\nunevenness = false\n")
    assert wanted.project.objective_names == ("tuning", "robustness")
    other = copy.copy(problem)
    other.project = problem.project.model_copy(update={"search": wanted.project.search})
    found = assemble(other, np.asarray(outcome.x), "t00002", {})
    made = [note.making_sd_cents for note in found.notes]
    assert found.objectives["robustness"] == pytest.approx(np.sqrt(np.mean(np.square(made))))
    assert found.objectives["robustness"] < np.sqrt(np.mean([note.sd_cents**2 for note in found.notes]))


def test_a_search_for_robustness_varies_what_leads_there():
    wanted = pipe(PIPE + "\n[search.objectives]\nrobustness = true\nstretch = false\nunevenness = false\n")
    assert Questions(wanted.project, wanted.notes, 1).shared == ["stretch", "unevenness"]
    assert Questions(pipe(PIPE).project, pipe(PIPE).notes, 1).shared == ["stretch", "unevenness"]
    assert pipe(PIPE).project.objective_names == ("tuning", "stretch", "unevenness")


def test_an_older_layout_reads_with_the_deviation_it_lacks(record):
    data = json.loads(record.model_dump_json())
    del data["reference"]["uncertainty"]["shrinkage_percent"]
    for note in data["notes"]:
        del note["making_sd_cents"]
    older = LayoutRecord.model_validate(data | {"schema_version": "1.2.0"})
    assert older.reference.uncertainty.shrinkage_percent == Uncertainty().shrinkage_percent > 0.0
    assert older.notes[0].making_sd_cents is None
    again = predict(older)
    assert [note.making_sd_cents for note in again] == pytest.approx([note.making_sd_cents for note in record.notes])
