"""What a player accepts of open holes, worked out by hand on the keyed pipe: cylinder of 20 mm bore, wall 5 mm.

The limits themselves are common practice, no source; how a lattice's cutoff goes with spacing and width is Benade's
(*Fundamentals of Musical Acoustics*, 1976): as 1 / sqrt(spacing), and as the width of holes alike in all else.
"""

import numpy as np
import pytest
from layouts import layout_of
from shelf import KEYED, changed, pipe

from optimizer.analysis.multipliers import Limit
from optimizer.analysis.prices import worded
from optimizer.geometry.layout import layout_bounds, with_numbers
from optimizer.geometry.measured_layout import measured
from optimizer.limits.catalogue import build_constraints
from optimizer.limits.conflicts import conflict_lines, verdict_on
from optimizer.limits.venting import not_so
from optimizer.project.chart import read_chart
from optimizer.project.open_holes import first_two_open

KINDS = ("step", "size", "cutoff")

VENTED = changed("wanted = false", "wanted = true")
"""The practice pipe, held to what a player accepts."""

TUBE = changed("points_mm = [[0, 4.0], [330, 21.0]]", "points_mm = [[0, 20.0], [330, 20.0]]", VENTED)
"""The practice pipe as a cylinder, so that holes of one width are alike in all but their spacing."""


def asked(text, layout=None):
    """Limits of venting by name [mm]."""
    project = pipe(text).project
    found = build_constraints(project)
    values = found.values(layout_bounds(project)[0] if layout is None else layout)
    named = {item.name: float(value) for item, value in zip(found.items, values, strict=True)}
    return {name: value for name, value in named.items() if name.split(".")[0] in KINDS}


def tube(places, widths=8.0, text=TUBE):
    """A layout of the tube: four holes from the bell up."""
    numbers = {"position_mm": np.array(places), "diameter_mm": np.full(4, widths) if np.isscalar(widths) else widths}
    return with_numbers(layout_bounds(pipe(text).project)[0], numbers)


def test_a_cutoff_goes_with_the_root_of_the_spacing():
    # C#5 has g2 and g1 open, 90 apart, D5 g3 and g2, 30 apart, E5 g4 and g3, 22.5: cutoffs as 1 : sqrt(3) : 2. With
    # half of a neighbour's asked and holes 8 wide: 8 (sqrt(3)/2 - 1), 8 (1/(2 sqrt(3)) - 1), and so on; D5 is to E5 as
    # sqrt(22.5/30). B4 and A4 have less than two holes open.
    found = asked(TUBE, tube([300.0, 210.0, 180.0, 157.5]))
    ratios = {"C#5-D5": 3.0**0.5, "D5-C#5": 3.0**-0.5, "D5-E5": (4 / 3) ** 0.5, "E5-D5": (4 / 3) ** -0.5}
    expected = {f"cutoff.{name}": 8.0 * (0.5 * ratio - 1.0) for name, ratio in ratios.items()}
    assert {name: value for name, value in found.items() if name[:6] == "cutoff"} == pytest.approx(expected, abs=1e-9)


def test_holes_nearer_than_the_bore_is_wide_count_as_that_far_apart():
    # 12 and 16 mm apart in a bore of 20: both 20.
    found = asked(TUBE, tube([300.0, 210.0, 198.0, 182.0]))
    assert found["cutoff.D5-E5"] == pytest.approx(8.0 * (0.5 - 1.0), abs=1e-9)
    assert found["cutoff.C#5-D5"] == pytest.approx(8.0 * (0.5 * (90 / 20) ** 0.5 - 1.0), abs=1e-9)


def test_a_note_vents_by_the_mean_of_squares_of_both_its_holes():
    # g2 and g3 as wide as each other and as far apart as g1 and g2 are: D5 has 8 and 8, C#5 8 and w. Their cutoffs
    # are as sqrt((8^2 + w'^2) / 2) to 8, with w' the width that the hole counts for, shorter ends and all: by what
    # a row of holes all w wide comes to against one all 8 wide.
    places = [240.0, 210.0, 180.0, 150.0]
    mixed = asked(TUBE, tube(places, np.array([6.0, 8.0, 8.0, 8.0])))["cutoff.C#5-D5"]
    grown = asked(TUBE, tube(places, np.array([8.0, 8.0, 6.0, 6.0])))
    # E5 has 6 and 6: its cutoff over that of D5 (6 and 8) is w' / sqrt((w'^2 + 8^2) / 2).
    share = 2.0 * (grown["cutoff.D5-E5"] / 6.0 + 1.0)
    counted = (share**2 * 64.0 / (2.0 - share**2)) ** 0.5
    assert 5.0 < counted < 6.5
    ratio = 8.0 / ((64.0 + counted**2) / 2.0) ** 0.5
    assert mixed == pytest.approx(8.0 * (0.5 * ratio - 1.0), abs=1e-9)


def test_shares_come_from_the_project():
    shares = "step_max_share = 0.5\nleast_under_key_share = 0.6\nleast_under_finger_share = 0.1\n"
    found = asked(f"{KEYED}\n[venting]\n{shares}cutoff_least_share = 0\n", layout_of())
    assert found["step.h3-h2"] == pytest.approx(0.5 * 10 - 8)
    assert found["size.h3"] == pytest.approx(0.6 * 20 - 10)
    assert found["size.h2"] == pytest.approx(0.1 * 20 - 8)
    assert found["cutoff.B4-A4"] == pytest.approx(-7.1234567)  # none asked: the hole's own width


def test_what_is_not_wanted_is_not_asked():
    assert asked(f"{KEYED}\n[venting]\nwanted = false\n") == {}
    assert len(asked(KEYED)) == 18


def test_a_hole_open_to_a_plate_or_a_finger_is_held_to_what_it_gets():
    text = changed('h2 = { by = "R2",', 'h2 = { by = "R2", cover = "either",', KEYED)
    project, layout = pipe(text).project, layout_of(text=text)
    for plate, share in ((0.0, 0.25), (1.0, 0.35)):
        covered = np.array(layout.choice.plate)
        covered[1] = plate
        found = asked(text, layout._replace(choice=layout.choice._replace(plate=covered)))
        assert found["size.h2"] == pytest.approx(20 * share - 8)
    (item,) = (item for item in build_constraints(project).items if item.name == "size.h2")
    assert item.sentence == "of the bore's width there h2 has at least 35 % under a pad or 25 % under a bare finger"


def test_vents_thumb_holes_and_forks_are_aside():
    project = pipe(KEYED).project
    assert not {name for name in asked(KEYED) if "v1" in name or "h7" in name} - {"size.h7"}
    openness = {note.written: note.openness for note in read_chart(project.chart, project.holes, project.keys)[0]}
    assert first_two_open(project.holes, openness["A4"]) == (3, 2)
    assert first_two_open(project.holes, openness["C5"]) == (5, 4)
    assert first_two_open(project.holes, openness["F#4"]) is None  # h1 alone is open
    forked = (0.0, 1.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0)  # h3 between h2 and h4 is shut, and rests open
    assert first_two_open(project.holes, forked) is None
    passed = (1.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    assert first_two_open(project.holes, passed) == (1, 0)


def test_holes_made_already_are_told_of_and_not_held_to_it():
    # h5 is locked at 7.12, h6 here at 10.5: 0.7 x 10.5 = 7.35 is more than h5; h4 under a key at 6.5 of 20, not 7.
    text = KEYED
    for name, place, width in (("h4", 350, 6.5), ("h6", 215, 10.5)):
        line = next(line for line in text.splitlines() if line.startswith(f"{name} = "))
        said = f"position_mm = {place}, diameter_mm = {width}, chimney_mm = 5, locked = true"
        text = text.replace(line, f"{line[: line.index('position_mm')]}{said} }}")
    layout = layout_of({}, {"h4": 6.5, "h6": 10.5})
    found = asked(text, layout)
    assert not {"step.h4-h5", "step.h5-h4", "step.h5-h6", "step.h6-h5", "size.h4", "size.h5", "size.h6"} & set(found)
    assert {"step.h3-h4", "step.h4-h3", "size.h3"} <= set(found)  # h3 may still change
    assert not_so(measured(layout, pipe(text).project)) == [
        "made already, and not so: h5 is at most 30 % narrower than h6, open beside it",
        "made already, and not so: of the bore's width there h4 has at least 35 % under a pad",
    ]
    assert not_so(measured(layout, pipe(KEYED).project)) == []


def test_ranges_that_leave_no_even_row_are_a_conflict_in_the_trades_words():
    # g1 10 to 11 wide beside g2 of 5 to 6: 0.7 x 10 is 1 mm more than 6.
    text = changed("[220, 300], diameter_mm = [5, 11]", "[220, 300], diameter_mm = [10, 11]", VENTED)
    text = changed("[170, 250], diameter_mm = [5, 10]", "[170, 250], diameter_mm = [5, 6]", text)
    verdict = verdict_on(pipe(text), seconds=600.0)
    (conflict,) = verdict.conflicts
    assert verdict.least_mm == pytest.approx(1.0, abs=0.01)
    alone = {member.name: member.alone_mm for member in conflict.members}
    assert set(alone) == {"step.g1-g2", "range.diameter_mm.g1", "range.diameter_mm.g2"}
    assert alone["step.g1-g2"] == pytest.approx(1.0, abs=0.01)
    assert alone["range.diameter_mm.g2"] == pytest.approx(1.0, abs=0.01)
    assert alone["range.diameter_mm.g1"] == pytest.approx(1.0 / 0.7, abs=0.01)
    said = "\n".join(conflict_lines(pipe(text)))
    assert "g2 is at most 30 % narrower than g1, open beside it; it alone would have to give 1.00 mm" in said


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("step.h05-h06", "step h05-h06: 1 mm less"),
        ("size.h05", "h05: 1 mm wider at the least"),
        ("cutoff.C4-D4", "cutoffs C4-D4: nearer, as by 1 mm of hole"),
    ],
)
def test_a_price_says_what_a_millimetre_is(name, words):
    assert worded(Limit(name, "constraint", 0)) == words
