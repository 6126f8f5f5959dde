"""Limits of a bore that numbers shape, against slopes on paper; the limits themselves are common practice."""

import numpy as np
import pytest
from shaped import SHAPED
from shelf import PIPE, changed, pipe

from optimizer.geometry.layout import layout_bounds
from optimizer.limits.catalogue import build_constraints

WALL = "wall_mm = 4.0"


def values(text, **numbers):
    """What each limit of the bore says [mm], by its name, at the low ends but for some numbers."""
    project = pipe(text).project
    limits, layout = build_constraints(project), layout_bounds(project)[0]
    found = limits.values(layout._replace(**{name: np.asarray(value) for name, value in numbers.items()}))
    named = zip((item.name for item in limits.items), found, strict=True)
    return {name: value for name, value in named if name.startswith("bore_")}


def test_crook_and_cone_are_held_to_their_half_angles_and_to_each_other():
    # Crook from 4 to 5 mm over 60: slope 1/120. Cone from 5 to 21 mm over 270: 16/540. tan 0.3, 1 and 3 degrees are
    # 0.0052360, 0.0174551 and 0.0524078; diameters over a line's length, radius over 50 mm at the bend.
    text = changed(WALL, f"{WALL}\ncrook_end_mm = 60\ncrook_end_diameter_mm = [5, 9]")
    crook, cone = 1.0 / 120.0, 16.0 / 540.0
    expected = {
        "bore_slim.1": (0.0052360 - crook) * 120.0,
        "bore_slim.2": (0.0052360 - cone) * 540.0,
        "bore_steep.1": (crook - 0.0524078) * 120.0,
        "bore_steep.2": (cone - 0.0524078) * 540.0,
        "bore_bend.1": (cone - crook - 0.0174551) * 50.0,
    }
    assert values(text) == pytest.approx(expected, abs=1e-4)
    assert values(text)["bore_bend.1"] > 0.0


def test_a_cylinder_must_only_not_narrow():
    text = changed("[[0, 4.0], [330, 21.0]]", "[[0, 12.0], [330, 12.0]]")
    text = changed(WALL, f"{WALL}\ncrook_end_mm = 60\ncrook_end_diameter_mm = [11.5, 12.5]", text)
    assert values(text, crook_end_diameter_mm=12.0)["bore_slim.1"] == pytest.approx(0.0, abs=1e-12)
    assert values(text, crook_end_diameter_mm=11.5)["bore_slim.1"] == pytest.approx(0.5)
    assert values(text, crook_end_diameter_mm=12.5)["bore_slim.2"] == pytest.approx(0.5)


def test_what_the_points_have_is_never_too_much():
    # A bend of 3.4 degrees from a staple to a cone, both as the points have them, and a flare that may move.
    text = changed("[[0, 4.0], [330, 21.0]]", "[[0, 6.0], [60, 6.0], [330, 38.0]]")
    text = changed(WALL, f"{WALL}\ncrook_end_mm = 60\ncrook_end_diameter_mm = [5.9, 6.1]", text)
    found = values(text, crook_end_diameter_mm=6.0)
    assert found["bore_bend.1"] == pytest.approx(0.0, abs=1e-9)
    assert found["bore_steep.2"] == pytest.approx(0.0, abs=1e-9)


def test_only_what_numbers_move_is_held_to_limits():
    assert values(PIPE) == {}
    assert values(changed(WALL, f"{WALL}\ncrook_end_mm = 60\ncrook_end_diameter_mm = 9")) == {}
    bell = values(changed(WALL, f"{WALL}\nbell_length_mm = 40\nbell_flare_mm = [0, 60]"), bell_flare_mm=60.0)
    # Six lines; of 60 mm of flare over 40 mm each is 60/36/2 mm steeper over 40/6 than the one before, the first half.
    assert bell["bore_bend.1"] == pytest.approx((0.5 * 60.0 / 36.0 / (40.0 / 6.0) - 0.0174551) * 50.0, abs=1e-4)
    assert bell["bore_bend.2"] == pytest.approx((60.0 / 36.0 / (40.0 / 6.0) - 0.0174551) * 50.0, abs=1e-4)
    assert not [name for name in bell if not name.startswith("bore_bend")]


def test_all_parts_of_a_bore_have_their_limits():
    kinds = [name.split(".")[0] for name in values(SHAPED)]
    assert [kinds.count(kind) for kind in ("bore_slim", "bore_steep", "bore_bend")] == [4, 4, 9]
