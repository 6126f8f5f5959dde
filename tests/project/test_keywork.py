"""The `[keywork]` and `[keys]` tables: the stock of axles, and files that cannot be."""

import pytest
from shelf import KEYED, changed, pipe

from optimizer.project.keywork import Keywork
from optimizer.project.loading import ProjectError
from optimizer.project.mechanics import Stock


@pytest.mark.parametrize(
    ("stock", "expected"),
    [
        # L = (48 E I s / F)^(1/3), I = pi (D^4 - d^4) / 64, s = 0.03, F = 1 (handbook formula, from memory).
        # steel rod of 3: I = pi 81 / 64 = 3.97608, E I = 795216; 48 x 795216 x 0.03 = 1145111; cube root 104.62
        ({"stock": "rod", "stock_outer_mm": 3.0, "stock_modulus_gpa": 200.0}, 104.62),
        # steel rod of 2: I = pi 16 / 64 = 0.785398, E I = 157080; 226195; 60.93
        ({"stock": "rod", "stock_outer_mm": 2.0, "stock_modulus_gpa": 200.0}, 60.93),
        # brass tube 5 x 3: I = pi (625 - 81) / 64 = 26.7035, E I = 2670354; 3845310; 156.67
        ({}, 156.67),
        # twice the force: a stretch shorter by the cube root of 2: 156.67 / 1.259921 = 124.35
        ({"finger_force_n": 2.0}, 124.35),
        ({"post_pitch_max_mm": 70.0}, 70.0),  # said outright
    ],
)
def test_the_stretch_between_posts_follows_from_the_stock(stock, expected):
    assert Keywork(**stock).post_pitch_mm == pytest.approx(expected, abs=0.02)


# Files that cannot be.


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            KEYED + '\n[keywork]\nstock = "rod"\nstock_inner_mm = 1\n',
            "keywork.stock_inner_mm: a rod has no bore, but got 1",
        ),
        (KEYED + "\n[keywork]\nstock_outer_mm = 3\n", "stock_inner_mm < stock_outer_mm must hold, but got 3 and 3"),
        (KEYED + "\n[keywork]\ntouch_spacing_mm = 5\n", "keywork.touch_spacing_mm: must be at least"),
        (KEYED + '\n[keywork]\nstock = "wire"\n', "keywork.stock: must be"),
        (
            changed('opens = ["v1"]', 'axle_deg = 90, axle_side = "clockwise", opens = ["v1"]', KEYED),
            "keys.octave: give axle_deg or axle_side, not both",
        ),
        (
            changed('opens = ["v1"], lever', 'together = ["link"], opens = ["v1"], lever', KEYED),
            "keys.octave.together: 'link' is neither another key of LT nor LT itself",
        ),
        (
            changed('moved_by = ["R1", "R2"]', 'moved_by = ["more"]', KEYED).replace(
                "[chart]", 'more = { touch = "R1", moved_by = ["link"], closes = ["h4"] }\n[chart]'
            ),
            "keys: link -> more -> link move each other in a circle",
        ),
    ],
)
def test_what_is_wrong_is_named(text, sentence):
    with pytest.raises(ProjectError) as caught:
        pipe(text)
    assert any(sentence in problem for problem in caught.value.problems), caught.value.problems


def test_the_defaults_are_a_brass_tube():
    assert Keywork().axle_stock == Stock(5.0, 3.0, 100e3, 0.3)
    assert Keywork(stock="rod", stock_outer_mm=3.0).axle_stock.inner_mm == 0.0
