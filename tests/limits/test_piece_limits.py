"""Limits of pieces and joints, against arithmetic written out beside each check."""

import pytest
from folded import FOLDED, SECTIONS
from pieced import PIECES, limit_values, placed
from shelf import changed, pipe

from optimizer.geometry.measured_layout import measured
from optimizer.limits.catalogue import build_constraints


def test_without_a_ring_the_tenon_is_what_the_body_leaves():
    # Body at 142 is 19.31515; less 2 x (3 + 0.2) = 12.91515; bore at 158 is 12.13939: a wall of 0.38788, 2.11 too thin.
    text = changed("joint_mm = 16", "joint_mm = 16\nsocket_ring = false", PIECES)
    project, layout = placed(text, 150.0)
    found = measured(layout, project).joints
    assert float(found.tenon[0]) == pytest.approx(12.9151515, abs=1e-6)
    assert float(found.socket_outer[0]) == pytest.approx(19.3151515, abs=1e-6)
    values = limit_values(project, layout)
    assert values["tenon_wall.1"] == pytest.approx(2.5 - 0.3878788, abs=1e-6)
    # A wall of 7 mm leaves 3 mm more all round.
    project, layout = placed(changed("wall_mm = 4.0", "wall_mm = 7.0", text), 150.0)
    assert float(measured(layout, project).joints.tenon_wall[0]) == pytest.approx(3.3878788, abs=1e-6)


def test_a_joint_keeps_five_millimetres_from_what_lies_over_a_hole():
    # Half of the joint 8, half of a finger 8, and 5: 21 mm wanted, 120 to 150 gives 30. The joint clear of 137 to 163.
    project, layout = placed(PIECES, 150.0)
    values = limit_values(project, layout)
    assert values["joint.1-g4"] == pytest.approx(21.0 - 30.0)


def test_a_bed_too_narrow_for_a_ring_limits_the_piece():
    # 35 mm less a margin of 8 are 27; the ring of the joint at 150 is 24.53939 wide, as above, the body thinner.
    text = changed("bed_mm = [200, 180, 300]", "bed_mm = [200, 35, 300]", PIECES)
    text = changed("end_mm = [300, 340]", "end_mm = [200, 340]", text)
    text = changed('g1 = { by = "R1", position_mm = [220, 300]', 'g1 = { by = "R1", position_mm = [190, 195]', text)
    text = changed("position_mm = [170, 250]", "position_mm = [150, 180]", text)
    text = changed("position_mm = [150, 220]", "position_mm = [130, 160]", text)
    project, layout = placed(text, 150.0, end=170.0)
    values = limit_values(project, layout)
    assert values["piece_wide.2"] == pytest.approx(24.5393939 - 27.0, abs=1e-6)
    assert "piece_wide.1" not in [item.name for item in build_constraints(pipe(PIECES).project).items]


def test_a_bed_too_narrow_for_both_bends_of_a_piece_limits_it():
    # Without a joint between them a piece takes up both folds: the body's 28 mm, 60 to one side and 60 to the other.
    bed = "\n[printer]\nbed_mm = [130, 130, 600]\n"
    names = [item.name for item in build_constraints(pipe(FOLDED + SECTIONS + bed).project).items]
    assert "piece_wide.1" in names
