"""Every formula's checked range: silent inside, a sentence that names place and formula outside."""

import re

import numpy as np
import pytest
from ducts import make_duct, make_holes

from acoustics.losses import VALIDITY
from acoustics.validity import DUCT_RANGES, out_of_range

NAMES = ["h1", "h2"]


def sentences(radius=(3.0, 3.0), chimney=(4.0, 4.0), body=(11.0, 11.0), points=((0, 7.5), (300, 7.5)), f=(100.0, 500.0),
              **more):  # fmt: skip
    holes = make_holes((150.0, 220.0), radius, chimney, body, **more)
    return out_of_range(make_duct(points, holes, end_wall=3.5), NAMES, *f)


def test_an_ordinary_duct_draws_no_sentence():
    assert sentences() == []


# Each range's end stands in the docstring or table of its formula; the values straddle it by a percent or two.
@pytest.mark.parametrize(
    ("inside", "outside", "words"),
    [
        ({"radius": (3.0, 7.4)}, {"radius": (3.0, 7.7)}, "h2: radius over bore radius is 1.03; inner length"),
        ({"chimney": (0.31, 4.0)}, {"chimney": (0.29, 4.0)}, "h1: chimney over radius"),
        ({"radius": (0.41, 3.0)}, {"radius": (0.39, 3.0)}, "h1: radius in mm is 0.39; wall losses"),
        ({"body": (4.3, 11.0)}, {"body": (4.2, 11.0)}, "h1: radius over body radius"),
        ({"rim": (0.31, 1.0)}, {"rim": (0.29, 1.0)}, "h1: rim of the flat over radius is 0.0967; outer length"),
        ({"rim": (11.9, 1.0)}, {"rim": (12.1, 1.0)}, "h1: rim of the flat over radius"),
        ({"rim": (1.0, 1.0), "chimney": (2.61, 4.0)}, {"rim": (1.0, 1.0), "chimney": (2.59, 4.0)},
         "h1: height of the flat over radius"),
        ({"pad": (5.9, 5.0), "gap": (2.9, 2.0)}, {"pad": (6.1, 5.0), "gap": (2.9, 2.0)},
         "h1: radius of a pad that opens less than the radius, over it,"),
        ({"pad": (5.0, 5.0), "gap": (0.61, 2.0), "rim": (1.0, 1.0)},
         {"pad": (5.0, 5.0), "gap": (0.59, 2.0), "rim": (1.0, 1.0)},
         "h1: pad opening over radius is 0.197; pad length"),
        ({"pad": (5.0, 5.0), "gap": (2.0, 2.0), "rim": (1.9, 1.9)},
         {"pad": (5.0, 5.0), "gap": (2.0, 2.0), "rim": (2.1, 1.9)}, "h1: pad radius over hole and rim"),
        ({"f": (100.0, 4300.0)}, {"f": (100.0, 4500.0)}, "h1: k a at the highest note"),
        ({"f": (100.0, 2470.0)}, {"f": (100.0, 2500.0)}, "h1: k times body radius at the highest note"),
        ({"f": (20.5, 500.0)}, {"f": (19.5, 500.0)}, "lowest note: frequency in Hz is 19.5; wall losses"),
        ({"points": ((0, 7.5), (300, 60.0))}, {"points": ((0, 7.5), (300, 61.5))}, "bore: half angle in degrees"),
        ({"points": ((0, 7.5), (300, 39.9))}, {"points": ((0, 7.5), (300, 40.1))}, "bore's widest place: radius in mm"),
    ],
)  # fmt: skip
def test_a_range_ends_where_it_says(inside, outside, words):
    start = words.split(" is ")[0]
    assert not any(sentence.startswith(start) for sentence in sentences(**inside))
    assert any(sentence.startswith(words) for sentence in sentences(**outside))


def test_a_large_lumped_reed_is_named_and_a_cavity_with_length_is_not():
    duct = make_duct(((0, 7.5), (300, 7.5)), end_wall=3.5)
    k = 2 * 3.141592653589793 * 500.0 / 343.37
    volume = (0.52 / k) ** 3
    lumped = duct.reed._replace(volume=np.asarray(volume))
    assert [text.split(":")[0] for text in out_of_range(duct._replace(reed=lumped), [], 100.0, 500.0)] == ["reed"]
    slim = lumped._replace(cavity_radius=np.asarray(3e-3))
    assert out_of_range(duct._replace(reed=slim), [], 100.0, 500.0) == []


def test_losses_are_told_over_the_range_that_is_held_to():
    told = [float(each) for each in re.findall(r"[\d.]+", VALIDITY)]
    radius, f = DUCT_RANGES["radius"], DUCT_RANGES["f"]
    assert told == [radius.low, radius.high, f.low, f.high / 1000.0]
