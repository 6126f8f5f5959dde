"""The `[printer]` table and what it allows a body, against arithmetic written out beside each check."""

import pytest
from pieced import PIECES
from shelf import changed, pipe

from optimizer.project.loading import ProjectError
from optimizer.project.printer import Printer


def printer(**more):
    return Printer.model_validate(more)


# the bed


def test_a_standing_piece_is_as_long_as_the_bed_is_high_less_its_margin():
    found = printer(bed_mm=[200, 180, 300], margin_mm=[10, 8, 6])
    assert found.usable_mm == (190.0, 172.0, 294.0)
    assert found.piece_max_mm == 294.0
    assert found.diameter_max_mm == 172.0


def test_a_lying_piece_is_as_long_as_the_longer_side():
    # Along x, so that y (172) and z (294) are across.
    found = printer(bed_mm=[200, 180, 300], margin_mm=[10, 8, 6], orientation="lying")
    assert (found.piece_max_mm, found.diameter_max_mm) == (190.0, 172.0)
    assert printer(bed_mm=[180, 200, 50], margin_mm=0, orientation="lying").diameter_max_mm == 50.0
    assert printer(bed_mm=[180, 200, 50], margin_mm=0, orientation="lying").piece_max_mm == 200.0


def test_one_margin_and_one_shrinkage_hold_on_every_axis():
    found = printer(margin_mm=10, shrinkage_percent=0.5)
    assert (found.margin_mm, found.shrinkage_percent) == ((10.0,) * 3, (0.5,) * 3)


def test_a_print_is_larger_by_what_it_shrinks_and_must_fit_so():
    # 2 % along z: print = finished / 0.98; 245 mm of bed hold 245 x 0.98 = 240.1 mm finished. 1 % across: 1 / 0.99.
    found = printer(bed_mm=[200, 200, 245], margin_mm=0, shrinkage_percent=[1, 1, 2])
    assert found.factor_along == pytest.approx(1 / 0.98, rel=1e-15)
    assert found.factor_across == pytest.approx(1 / 0.99, rel=1e-15)
    assert found.piece_max_mm == pytest.approx(240.1, abs=1e-9)
    assert found.diameter_max_mm == pytest.approx(198.0, abs=1e-9)


def test_the_bed_decides_unless_the_pieces_do():
    assert pipe(PIECES).project.piece_max_mm == 294.0
    assert pipe(changed("joint_mm = 16", "joint_mm = 16\npiece_max_mm = 190", PIECES)).project.piece_max_mm == 190.0


# what cannot be


def test_a_body_too_long_for_the_bed_says_what_relieves_it():
    # Bed 110 - 6 = 104; joint 16. First joint at 104 - 8 = 96, then 104 - 16 = 88 further: 184. 300 - 184 + 8 = 124 is
    # more than 104, so a third at 272: 300 - 272 + 8 = 36 fits.
    text = changed(
        "bed_mm = [200, 180, 300]", "bed_mm = [200, 180, 110]", changed("joints = 1\n", "joints = 2\n", PIECES)
    )
    with pytest.raises(ProjectError) as caught:
        pipe(text)
    assert caught.value.problems == [
        "sections.joints: at most 2 allowed, but a body from 0 to 300 mm in pieces of at most 104 (the bed of a common "
        "bed (assumed) along z, less margin and shrinkage) needs 3 joints; allow them, lengthen the pieces, or end the "
        "bore sooner"
    ]
    pipe(changed("joints = 2\n", "joints = 3\n", text))


BROKEN = [
    (
        "bed_mm = [200, 180, 300]",
        "bed_mm = [200, 180]",
        "printer.bed_mm: must be one number or [x, y, z], but got [200, 180]",
    ),
    ("bed_mm = [200, 180, 300]", 'bed_mm = "big"', "printer.bed_mm: must be one number or [x, y, z], but got 'big'"),
    (
        "bed_mm = [200, 180, 300]",
        "bed_mm = [200, 180, 5]",
        "printer.bed_mm: must be more than the margin of 6 along z, but got 5",
    ),
    ("margin_mm = [10, 8, 6]", "margin_mm = -1", "printer.margin_mm: must be at least 0 on every axis, but got -1"),
    ("margin_mm = [10, 8, 6]", "margins_mm = 3", "printer.margins_mm: there is no such key; did you mean 'margin_mm'?"),
    (
        "margin_mm = [10, 8, 6]",
        "shrinkage_percent = [0.2, 0.4, 0.3]",
        "printer.shrinkage_percent: a round bore needs the same along x and y when printed "
        "standing, but got 0.2 and 0.4; "
        "calibrate the printer first",
    ),
    ("margin_mm = [10, 8, 6]", "shrinkage_percent = 30", "printer.shrinkage_percent: must be at most 10, but got 30"),
    (
        "margin_mm = [10, 8, 6]",
        "wall_min_mm = 0.3",
        "printer.wall_min_mm: must be at least the nozzle's 0.4, but got 0.3",
    ),
    (
        "margin_mm = [10, 8, 6]",
        "wall_min_mm = 3.5",
        "sections.tenon_wall_mm: must be at least printer.wall_min_mm, 3.5, but got 3",
    ),
    (
        "margin_mm = [10, 8, 6]",
        "wall_min_mm = 2.5",
        "sections.cord_mm: its groove leaves 2.00 mm of the tenon's wall, but "
        "printer.wall_min_mm is 2.5; take a thinner "
        "cord, a thicker tenon_wall_mm, or seal = 'lapping'",
    ),
    (
        "bed_mm = [200, 180, 300]",
        "bed_mm = [200, 180, 60]",
        "printer.bed_mm: a piece must be at least four joints long (64), but the bed of a common "
        "bed (assumed) leaves 54",
    ),
    (
        # The bore at 300, 4 + 17 x 300/330 = 19.4545, and two walls of 4; 30 less 8 is 22.
        "bed_mm = [200, 180, 300]",
        "bed_mm = [200, 30, 300]",
        "printer.bed_mm: the body is 27.45 mm wide, but a common bed (assumed) holds 22 across when printed standing; "
        "take a wider bed or a narrower bore",
    ),
    (
        "joint_mm = 16",
        "joint_mm = 16\npiece_max_mm = 295",
        "sections.piece_max_mm: is 295, but a common bed (assumed) holds 294 when printed "
        "standing; leave it out, and the "
        "bed decides",
    ),
    (
        "joint_mm = 16",
        "joint_mm = 16\npiece_max_mm = 120\nzones_mm = [[200, 220]]",
        "sections.zones_mm: beyond 0 mm no zone lies within reach of a piece of 120 mm, "
        "joints included; widen the zones, "
        "or take a longer bed",
    ),
    (
        "joint_mm = 16",
        "joint_mm = 16\ntenon_wall_mm = 2",
        "sections.tenon_wall_mm: must be at least tenon_wall_min_mm, 2.5, but got 2",
    ),
    (
        "joint_mm = 16",
        "joint_mm = 16\ncord_mm = 0.5\nradial_clearance_mm = 0.4",
        "sections.cord_mm: a cord of 0.5 squeezed by 20 % needs no groove at a radial clearance of 0.4; take a thicker "
        "cord, or seal = 'lapping'",
    ),
    (
        "joint_mm = 16",
        "joint_mm = 16\nlocked = [{ piece = 1, from_mm = 90, to_mm = 80 }]",
        "sections.locked.to_mm: must lie beyond from_mm at 90, but got 80",
    ),
]


@pytest.mark.parametrize(("old", "new", "sentence"), BROKEN)
def test_what_is_wrong_is_named(old, new, sentence):
    with pytest.raises(ProjectError) as caught:
        pipe(changed(old, new, PIECES))
    assert sentence in caught.value.problems, caught.value.problems
