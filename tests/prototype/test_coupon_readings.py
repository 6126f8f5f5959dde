"""Readings of test coupons: what they say of their printer, and a sentence for what they cannot be."""

import math
import re

import numpy as np
import pytest
import scipy
from commanded import told
from coupons import HEADERS, held, readings
from pieced import PIECES, jointed
from places import CONFIGS
from shelf import changed, pipe

from optimizer.analysis.tolerance import deviation_records
from optimizer.project.faults import Fault
from optimizer.project.included import read_included, taken_in
from optimizer.project.loading import ProjectError
from optimizer.project.printer import Printer
from optimizer.prototype.coupon_figures import coupon_record
from optimizer.prototype.coupon_lines import Sizes, fitted
from optimizer.prototype.coupon_readings import read_coupons
from optimizer.prototype.printer_file import learned_printer, printer_toml
from optimizer.records.coupon import CouponRecord
from optimizer.records.files import read_record


def found(tmp_path, text):
    path = tmp_path / "coupon.csv"
    path.write_text(text)
    return coupon_record(read_coupons(path), path.name)


def plain(made, own=0.0, prints=None):
    """Sizes without errors that readings share."""
    count = len(made)
    alike = np.zeros(count, int) if prints is None else prints
    return Sizes(np.array(made), np.full(count, own), np.zeros((count, 0)), alike, np.ones(count))


# lines


def test_a_straight_calibration_line_is_the_textbooks():
    # Fluorescence of standards of 0 to 12 pg/ml, Miller & Miller, Statistics and Chemometrics for Analytical Chemistry,
    # chapter 5, from memory: slope 1.93 +- 0.11, intercept 1.52 +- 0.76 (95 %), residual deviation 0.4329.
    standards = np.arange(0.0, 13.0, 2.0)
    signal = [2.1, 5.0, 9.0, 12.6, 17.3, 21.0, 24.7]
    line = fitted(np.column_stack([np.ones(7), standards]), plain(signal))
    intercept, slope = line.coefficients
    assert (round(intercept.value, 2), round(slope.value, 2)) == (1.52, 1.93)
    assert round(line.scatter.value, 4) == 0.4328
    assert (round(slope.high - slope.value, 2), round(intercept.value - intercept.low, 2)) == (0.11, 0.76)
    other = scipy.stats.linregress(standards, signal)
    assert (slope.value, slope.sd) == pytest.approx((other.slope, other.stderr), rel=1e-6)
    assert (intercept.value, intercept.sd) == pytest.approx((other.intercept, other.intercept_stderr), rel=1e-6)


def test_scatter_beyond_what_reading_explains_is_that_of_random_effects():
    # statsmodels 0.15, combine_effects(eff, variance, method_re="iterated"), which is Paule & Mandel's: tau2, mean and
    # its standard error for these seven.
    made = [-0.21, -0.13, -0.30, -0.18, -0.26, -0.09, -0.22]
    own = np.array([0.03, 0.05, 0.04, 0.03, 0.06, 0.04, 0.05])
    line = fitted(np.ones((7, 1)), plain(made)._replace(own=own))
    assert line.scatter.value**2 == pytest.approx(0.0033437285, rel=1e-4)
    assert line.coefficients[0].value == pytest.approx(-0.1968471643, rel=1e-5)
    assert line.coefficients[0].sd == pytest.approx(0.0270954086, rel=1e-5)


def test_the_interval_of_a_scatter_is_that_of_a_sample():
    # (n - 1) s^2 / chi^2 at 97.5 and 2.5 %, any handbook.
    made = np.random.default_rng(3).normal(0.0, 0.1, 12)
    line = fitted(np.ones((12, 1)), plain(made))
    squares = 11.0 * np.var(made, ddof=1)
    low, high = (math.sqrt(squares / scipy.stats.chi2.ppf(share, 11)) for share in (0.975, 0.025))
    assert (line.scatter.low, line.scatter.high) == pytest.approx((low, high), rel=1e-4)


def test_what_a_tool_errs_alike_does_not_fall_with_the_number_of_readings():
    # Variance of a mean of n: shared^2 + own^2 / n, with a scatter that readings of 0 leave no room for.
    many = plain(np.zeros(400), own=0.02)._replace(shared=np.full((400, 1), 0.03))
    assert fitted(np.ones((400, 1)), many).coefficients[0].sd == pytest.approx(math.hypot(0.03, 0.02 / 20.0), rel=1e-3)


def test_prints_that_differ_as_a_whole_tell_by_how_much():
    # One-way analysis of variance: between = sqrt((mean square between - mean square within) / n), any handbook.
    dice = np.random.default_rng(8)
    prints = np.repeat(np.arange(4), 6)
    made = dice.normal(0.0, 0.2, 4)[prints] + dice.normal(0.0, 0.05, 24)
    line = fitted(np.ones((24, 1)), plain(made, prints=prints))
    groups = made.reshape(4, 6)
    within = np.mean(np.var(groups, axis=1, ddof=1))
    between = 6.0 * np.var(np.mean(groups, axis=1), ddof=1)
    assert line.scatter.value == pytest.approx(math.sqrt(within), rel=1e-3)
    assert line.between.value == pytest.approx(math.sqrt((between - within) / 6.0), rel=1e-3)


def test_one_thing_of_each_print_scatters_as_prints_do():
    line = fitted(np.ones((3, 1)), plain([0.18, 0.20, 0.25], prints=np.arange(3)))
    assert line.between is None
    assert line.scatter.value == pytest.approx(np.std([0.18, 0.20, 0.25], ddof=1), rel=1e-4)


# what coupons say


def test_figures_lie_within_their_own_intervals_nearly_always(tmp_path):
    # Twelve printers of known offsets, slopes and scatter. Intervals of one print go together: the twelve shares of the
    # 22 figures scatter by some 0.05, their mean by 0.015; the long tests hold each figure by itself.
    records = [found(tmp_path, readings(seed)) for seed in range(2026, 2038)]
    inside = [held(record) for record in records]
    assert 0.90 <= np.mean([list(each.values()) for each in inside]) <= 0.99


def test_one_print_alone_says_so_and_several_do_not(tmp_path):
    assert any("known from one print only" in line for line in found(tmp_path, readings(1, prints=1)).remarks)
    assert not any("one print" in line for line in found(tmp_path, readings(1)).remarks)


def test_readings_taken_once_say_that_their_scatter_counts_as_the_printers(tmp_path):
    once = found(tmp_path, readings(1, twice=1))
    assert any("nothing was read twice by caliper" in line for line in once.remarks)
    assert not any("nothing was read twice" in line for line in found(tmp_path, readings(1)).remarks)


WRONG = {
    "nothing": ("", "is empty; a table of coupon readings begins with its headers: what, where, drawn_mm"),
    "headers alone": (f"{HEADERS}\n", "has headers and no row under them"),
    "decimal comma": (f"{HEADERS}\nlength,l80,80,1,79,75,,,caliper,,,\n", "a decimal comma? write 12.5"),
    "quoted comma": (f'{HEADERS}\nlength,l80,80,1,"79,75",,,caliper,,,\n', "but got '79,75'; write a decimal point"),
    "inches in the header": (
        "what,where,drawn_in,reading_mm\n",
        "'drawn_in' is in inches; this table takes drawn_mm, each number times 25.4",
    ),
    "inches": (f"{HEADERS}\nlength,l80,80,1,3.14,,,caliper,,,\n", "is it in inches? write millimetres"),
    "unit in a cell": (f"{HEADERS}\nlength,l80,80,1,79.8 mm,,,caliper,,,\n", "is not mm here"),
    "another feature": (
        f"{HEADERS}\nslot,s1,8,1,7.8,,,caliper,,,\n",
        "column what: must be one of hole, bore, out",
    ),
    "no number": (f"{HEADERS}\nlength,l80,80,1,nan,,,caliper,,,\n", "must be a number, but got 'nan'"),
    "no tool": (f"{HEADERS}\nlength,l80,80,1,79.8,,,,,,\n", "line 2, column tool: is empty"),
    "no verdict": (f"{HEADERS}\nclearance,c1,0.2,1,,,,,,,\n", "a clearance is tried by hand: tight, fits, loose"),
    "two verdicts": (
        f"{HEADERS}\nclearance,c1,0.2,1,,,,,,,fits\nclearance,c1,0.2,1,,,,,,,loose\n",
        "clearance c1 of print 1 is loose here and fits above; keep one",
    ),
    "verdict of a hole": (f"{HEADERS}\nhole,h8,8,1,7.8,,,cone,,,fits\n", "a hole is read, not tried; give a reading"),
    "one reading": (f"{HEADERS}\nhole,h8,8,1,7.8,,,cone,,,\n", "a slope needs 3 sizes, but 8 mm was read"),
    "two sizes": (
        f"{HEADERS}\nhole,h8,8,1,7.8,,,cone,,,\nhole,h4,4,1,3.8,,,cone,,,\n",
        "holes as a circle: a slope needs 3 sizes, but 4 and 8 mm were read",
    ),
    "sizes alike": (
        f"{HEADERS}\n" + "".join(f"hole,h{n},{8 + n},1,{7.8 + n},,,cone,,,\n" for n in range(4)),
        "from 8 to 11 mm is too near together for a slope",
    ),
}


@pytest.mark.parametrize("what", WRONG)
def test_what_no_coupon_can_say_is_told(tmp_path, what):
    text, said = WRONG[what]
    with pytest.raises(Fault, match=re.escape(said)):
        found(tmp_path, text)


def test_a_single_length_tells_shrinkage_and_says_what_it_takes_for_granted(tmp_path):
    # (80 - 79.7) / 80 = 0.375 %; a caliper of 0.03 mm: 0.0375 %.
    record = found(tmp_path, f"{HEADERS}\nlength,l80,80,1,79.7,,,caliper,,,\n")
    shrinkage = record.figure("shrinkage_along")
    assert (shrinkage.value, shrinkage.sd) == pytest.approx((0.375, 0.0375), abs=1e-4)
    assert any("what both ends lack counts as shrinkage" in line for line in record.remarks)


def test_verdicts_that_contradict_each_other_are_told(tmp_path):
    rows = "clearance,a,0.1,9,,,,,,,fits\nclearance,b,0.2,9,,,,,,,tight\n"
    record = found(tmp_path, readings(1, prints=1) + rows)
    assert "clearance of print 9: a wider one is tighter than one that fits, or a narrower one looser; try again" in (
        record.remarks
    )


# the printer file


def learned(tmp_path, seed=2):
    """A record, the printer it makes, and a project's text in pieces that are printed so."""
    record = found(tmp_path, readings(seed))
    printer, _ = learned_printer(record, Printer(bed_mm=[200, 180, 300]))
    path = tmp_path / "printer.toml"
    path.write_text(printer_toml(printer, record))
    assert read_included(path, Printer, "printer").model == printer
    text = changed("bed_mm = [200, 180, 300]\nmargin_mm = [10, 8, 6]\n", "", PIECES).replace("[printer]\n", "")
    return record, printer, taken_in(text, read_included(path, Printer, "printer"))


def test_what_is_drawn_by_the_printer_file_comes_out_as_it_should(tmp_path):
    # Drawn, then made by the printer's own lines: the finished size again.
    record, _, text = learned(tmp_path)
    piece, printing = jointed(text).pieces[0], jointed(text).printing
    told = {each.name: each.value for each in record.figures}
    across, along = 1.0 - told["shrinkage_across"] / 100.0, 1.0 - told["shrinkage_along"] / 100.0
    holes = {hole.id: hole for hole in jointed(text).holes}
    for drawn in piece.to_print.holes:
        lengthwise, round_ = drawn.diameter_mm
        made = told["hole_offset_round"] + told["hole_slope_round"] * 0.5 * (lengthwise + round_)
        assert made == pytest.approx(holes[drawn.id].diameter_mm, abs=2e-3)
        assert round_ - lengthwise == pytest.approx(told["hole_oval"], abs=1e-3)
    assert piece.to_print.length_mm * along == pytest.approx(piece.length_mm, abs=2e-3)
    tenon = piece.to_print.tenon.diameter_mm
    assert told["outside_offset"] + across * tenon == pytest.approx(piece.joint.tenon_diameter_mm, abs=2e-3)
    socket = jointed(text).pieces[1].to_print.socket.diameter_mm
    assert told["bore_offset"] + across * socket == pytest.approx(piece.joint.socket_diameter_mm, abs=2e-3)
    assert printing.hole_slope == pytest.approx(told["hole_slope_round"], abs=1e-5)


def test_doubt_tolerance_and_joints_go_by_the_printer_file(tmp_path):
    record, printer, text = learned(tmp_path)
    made = jointed(text)
    assert made.reference.uncertainty.hole_diameter_mm == printer.deviations["hole_diameter_mm"]
    assert made.reference.uncertainty.all_holes_mm == printer.deviations["all_holes_mm"]
    assert set(made.reference.uncertainty_from_printer) == set(printer.deviations)
    kinds = ["hole_diameter_mm", "chimney_mm"]
    sources = {each.kind: each.source for each in deviation_records(made.reference, 0.3, kinds)}
    assert sources["diameter of a hole"] == "the printer's coupon"
    assert made.pieces[0].joint.radial_clearance_mm == pytest.approx(record.figure("clearance").value, abs=1e-3)
    # The same figures in the project's own table bring its notes the same doubt, and others another.
    bare, deviations = text.split("[printer.deviations]")
    texts = text, f"{bare}[uncertainty]{deviations}", bare
    doubts = [[note.sd_cents for note in jointed(each).notes if note.sd_cents is not None] for each in texts]
    assert doubts[0] == doubts[1]
    assert max(abs(one - other) for one, other in zip(doubts[0], doubts[2], strict=True)) > 0.1


def test_what_the_project_states_goes_before_the_printer_file(tmp_path):
    _, _, text = learned(tmp_path)
    stated = changed("joint_mm = 16", "joint_mm = 16\nradial_clearance_mm = 0.3", text)
    stated = changed("[holes]", "[uncertainty]\nhole_diameter_mm = 0.2\n[holes]", stated)
    project = pipe(stated).project
    assert (project.sections.radial_clearance_mm, project.uncertainty.hole_diameter_mm) == (0.3, 0.2)


def test_a_clearance_that_leaves_no_groove_is_told(tmp_path):
    _, printer, text = learned(tmp_path)
    wide = text.replace(f"radial_clearance_mm = {printer.radial_clearance_mm}", "radial_clearance_mm = 2.0")
    with pytest.raises(ProjectError, match="needs no groove at a radial clearance of 2"):
        pipe(wide)


def test_readings_of_something_else_make_no_printer(tmp_path):
    rows = "".join(f"hole,h{n},{n},1,{1.3 * n},,,cone,,,\n" for n in (2, 3, 4, 6, 8))
    with pytest.raises(Fault, match=re.escape("hole_slope would be 1.3, which no printer has")):
        learned_printer(found(tmp_path, f"{HEADERS}\n{rows}"), Printer())


def test_the_command_writes_a_printer_file_that_a_project_takes(tmp_path, capsys):
    (tmp_path / "read.csv").write_text(readings(5))
    code, out, _ = told(
        capsys, "printer", tmp_path / "read.csv", "--like", CONFIGS / "printers" / "filament-256.toml",
        "--to", tmp_path / "mine.toml", "--json", tmp_path / "coupon.json", "--name", "shelf printer",
    )  # fmt: skip
    assert code == 0
    made = read_included(tmp_path / "mine.toml", Printer, "printer").model
    assert (made.name, made.bed_mm) == ("shelf printer", (256.0, 256.0, 256.0))
    record = read_record(tmp_path / "coupon.json", CouponRecord)
    assert made.hole_oval_mm == pytest.approx(record.figure("hole_oval").value, abs=1e-4)
    assert re.search(r"holes as a circle: offset +-0\.\d+ +mm", out)
    assert f"{record.figure('hole_oval').sd:.3g}, one standard deviation" in (tmp_path / "mine.toml").read_text()
