"""The folded body as it is drawn: where its holes are seen, by arithmetic; see `folded` for its tubes."""

import math
import re

import numpy as np
import pytest
from folded import FOLDED, SECOND
from made_records import hole, layout
from shelf import pipe

from optimizer.views.drawings.body import body_drawing
from optimizer.views.drawings.folded import FRONT, RIGHT, View, folded_drawing


def folded_record():
    bore = layout().bore.model_copy(
        update={"points_mm": [(0.0, 20.0), (1500.0, 20.0)], "wall_mm": 4.0, "bends": pipe(FOLDED).project.bends}
    )
    holes = [hole("h1", 250.0), hole("h2", SECOND + 150.0, azimuth_deg=90.0)]
    return layout().model_copy(update={"bore": bore, "holes": holes, "keys": [], "pieces": []})


def test_holes_are_seen_where_they_are_in_space():
    # From the front, who looks has the player's right on the left: h1 lies 250 deep on the first tube's axis, h2 350
    # deep, 60 + 14 to the left. From the player's right both are as deep, and the front is on the right: h1 on the
    # front edge, h2 14 to the left of it on the axis, turned to who looks.
    drawing = folded_drawing(folded_record()).to_html()
    found = re.findall(r'<ellipse class="([^"]*)" cx="([\d.]+)" cy="([\d.]+)"', drawing)
    first, second, beside_first, beside_second = np.array([place for _, *place in found], float)
    assert np.allclose(second - first, [-74.0, 100.0], atol=0.01)
    assert np.allclose(beside_second - beside_first, [-14.0, 100.0], atol=0.01)
    assert [kind for kind, *_ in found] == ["hole"] * 4


def test_both_views_of_a_fold_are_no_mirror_images():
    # Clockwise seen from the reed end, the front comes before the player's right: turned by a right angle to who looks
    # from the front, what looked at them looks to their left.
    record = folded_record()
    for across in (FRONT, RIGHT):
        view = View(record, across)
        facing = next(turn for turn in (0.0, 90.0, 180.0, 270.0) if view.near(turn) > 0.99)
        ahead, beside = (view.at(250.0, math.radians(turn), 14.0)[0] for turn in (facing, facing + 90.0))
        assert ahead - beside == pytest.approx(14.0)


def test_the_body_along_its_centre_line_shades_bends():
    drawing = body_drawing(folded_record()).to_html()
    assert drawing.count('class="bend"') == 2
    tops = [float(top) for top in re.findall(r'<rect class="bend" x="[\d.]+" y="([\d.]+)"', drawing)]
    told = [float(y) for y in re.findall(r'<text [^>]*y="([\d.]+)"[^>]*>bend \w+</text>', drawing)]
    assert len(tops) == len(told) == 2
    assert max(told) < min(tops)  # above the body, clear of what is drawn on it
    assert folded_drawing(layout()) is None


@pytest.mark.parametrize(("end", "step"), [(900.0, 100.0), (2000.0, 100.0), (2800.0, 200.0), (4000.0, 200.0)])
def test_the_numbers_below_a_long_body_do_not_run_together(end, step):
    # Common practice, no source: a figure of sans-serif letters is about 0.55 of their height wide.
    record = folded_record()
    record.bore.points_mm[-1] = (end, 20.0)
    drawing = body_drawing(record).to_html()
    told = re.findall(r'<text class="mid soft" x="([\d.]+)"[^>]*>(\d+)</text>', drawing)
    places = [float(place) for place, _ in told]
    assert [float(number) for _, number in told] == list(np.arange(0.0, end + 1.0, step))
    widest = 0.55 * 0.015 * 1.03 * end * len(f"{end:.0f}")
    assert np.diff(places).min() > widest
