"""The demo projects are sound, and made of one cone where they are one instrument."""

import numpy as np
import pytest
from places import CONFIGS

from optimizer.project.body import bore_ended
from optimizer.project.loading import load_project

TENORS = ("lantern-tenor", "lantern-tenor-low-a")


@pytest.mark.parametrize(
    "name", ["attic-reed", "cellar-bass", "lantern-tenor-low-a", "lantern-tenor", "meadow-pipe", "stairwell-contra"]
)
def test_the_demos_load(name):
    project = load_project(CONFIGS / f"{name}.toml").project
    assert (project.sections is not None) == (name not in ("attic-reed", "meadow-pipe"))


def test_the_two_tenors_have_one_cone_to_the_last_digit():
    # Straight lines between the points, every 0.1 mm to the shorter table's last point.
    shorter, longer = (load_project(CONFIGS / f"{name}.toml").project.bore for name in TENORS)
    places = np.concatenate([np.arange(0.0, 932.0, 0.1), [932.0]])
    one, other = (np.interp(places, *np.array(bore.points_mm).T) for bore in (shorter, longer))
    assert np.array_equal(one, other)
    # The longer bell goes on at the taper of the last line: (34 - 4.8) / (932 - 52) mm for each.
    (_, first), *_, (end, bell) = bore_ended(longer.points_mm, 1060.0)
    assert (first, end, bell) == (4.4, 1060.0, 4.8 + (34.0 - 4.8) * (1060.0 - 52.0) / (932.0 - 52.0))
    assert longer.end_span_mm == (1000.0, 1100.0)
    assert (shorter.wall_mm, shorter.crook_end_mm) == (longer.wall_mm, longer.crook_end_mm)
