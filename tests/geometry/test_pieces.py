"""Joints and pieces as they follow from bore and wall, against arithmetic written out beside each check.

Rules of joints are common practice without a source; what is checked is that they are kept.
"""

import numpy as np
import pytest
from pieced import PIECES, placed
from shelf import changed, pipe

from optimizer.geometry.choices import Choices, choice_arrays
from optimizer.geometry.layout import layout_bounds, with_numbers
from optimizer.geometry.measured_layout import measured
from optimizer.geometry.pieces import holes_of_pieces, piece_diameters, piece_lengths


def test_a_tenon_follows_from_bore_and_wall():
    # Bore 4 + 17/330 s. Joint of 16 at 150: widest at 158, 4 + 17 x 158/330 = 12.13939; tenon + 2 x 3 = 18.13939, of
    # which 0.8 is 14.51 < 16, so 16 long. Socket + 2 x 0.2 = 18.53939, outside + 2 x 3 = 24.53939. Body at 142:
    # 4 + 17 x 142/330 + 8 = 19.31515, thinner than that, so a ring.
    project, layout = placed(PIECES, 150.0)
    found = measured(layout, project).joints
    expected = [16.0, 12.1393939, 19.3151515, 18.1393939, 3.0, 18.5393939, 24.5393939]
    assert [float(column[0]) for column in found] == pytest.approx(expected, abs=1e-6)


def test_a_wide_tenon_is_longer():
    # At 250 with length L: bore 4 + k (250 + L/2), k = 17/330; L = 0.8 (10 + 250 k + k L/2), so
    # L = 0.8 (10 + 12.878788) / (1 - 0.4 k) = 18.3030303 / 0.97939394 = 18.688119.
    project, layout = placed(PIECES, 250.0)
    found = measured(layout, project).joints
    assert float(found.length[0]) == pytest.approx(18.688119, abs=1e-5)
    assert float(found.length[0]) == pytest.approx(0.8 * float(found.tenon[0]), rel=1e-6)
    # Each piece has half of it: 250 + 9.344 and 70 + 9.344.
    assert piece_lengths(measured(layout, project)) == pytest.approx([259.344059, 79.344059], abs=1e-5)


def test_a_step_or_bulge_within_a_joint_counts():
    # Points at 145 (16 mm wide) and 155 (8 mm) lie within 142 to 158; beyond them the bore is narrower or wider.
    text = changed("[[0, 4.0], [330, 21.0]]", "[[0, 12.0], [145, 16.0], [155, 8.0], [330, 21.0]]", PIECES)
    project, layout = placed(text, 150.0)
    low, high = np.array([142.0, 200.0]), np.array([158.0, 201.0])
    bore = measured(layout, project).bore
    # At 200 and 201: 8 + 13/175 x 45 and x 46.
    assert 2.0 * bore.narrowest(low, high) == pytest.approx([8.0, 8 + 13 * 45 / 175], abs=1e-9)
    assert 2.0 * bore.widest(low, high) == pytest.approx([16.0, 8 + 13 * 46 / 175], abs=1e-9)
    assert float(measured(layout, project).joints.tenon[0]) == pytest.approx(22.0, abs=1e-9)


def test_a_piece_is_as_wide_as_its_body_or_its_socket():
    # Joint at 150: piece 1 ends at 158 with a body of 12.13939 + 8. Bell at 170: the second piece's body there is
    # 4 + 17 x 170/330 + 8 = 20.75758, but the ring around its socket 24.53939.
    project, layout = placed(PIECES, 150.0, end=170.0)
    assert piece_diameters(measured(layout, project)) == pytest.approx([20.1393939, 24.5393939], abs=1e-6)


def test_a_hole_in_the_crook_is_on_no_piece():
    text = changed("wall_mm = 4.0", "wall_mm = 4.0\ncrook_end_mm = 50", PIECES)
    vent = 'v1 = { by = "LT", role = "vent", position_mm = 30, diameter_mm = 2, chimney_mm = 4, azimuth_deg = 180 }'
    text = changed("[chart]", f"{vent}\n\n[chart]", text)
    project = pipe(text).project
    low, _ = layout_bounds(project)
    position = np.array([260.0, 210.0, 185.0, 120.0, 30.0])
    choice, _ = choice_arrays(project, Choices(joints=(0.5,)), position, [150.0])
    numbers = {"position_mm": position, "joint_mm": np.array([150.0]), "end_mm": np.array(320.0)}
    assert holes_of_pieces(measured(with_numbers(low, numbers)._replace(choice=choice), project)) == [
        ["g4"],
        ["g1", "g2", "g3"],
    ]
