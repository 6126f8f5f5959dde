"""The folded body as it is drawn: where its holes are seen, by arithmetic; see `folded` for its tubes."""

import re

import numpy as np
from folded import FOLDED, SECOND
from made_records import hole, layout
from shelf import pipe

from optimizer.views.drawings.body import body_drawing
from optimizer.views.drawings.folded import folded_drawing


def folded_record():
    bore = layout().bore.model_copy(
        update={"points_mm": [(0.0, 20.0), (1500.0, 20.0)], "wall_mm": 4.0, "bends": pipe(FOLDED).project.bends}
    )
    holes = [hole("h1", 250.0), hole("h2", SECOND + 150.0, azimuth_deg=90.0)]
    return layout().model_copy(update={"bore": bore, "holes": holes, "keys": [], "pieces": []})


def test_holes_are_seen_where_they_are_in_space():
    # From the front h1 lies 250 deep on the first tube's axis, h2 350 deep, 60 + 14 to the right. From the player's
    # right both are as deep: h1 on the front edge, 14 to the left of the axis, h2 on it.
    drawing = folded_drawing(folded_record()).to_html()
    found = np.array(re.findall(r'<ellipse class="hole[^"]*" cx="([\d.]+)" cy="([\d.]+)"', drawing), float)
    first, second, beside_first, beside_second = found
    assert np.allclose(second - first, [74.0, 100.0], atol=0.01)
    assert np.allclose(beside_second - beside_first, [14.0, 100.0], atol=0.01)


def test_the_body_along_its_centre_line_shades_bends():
    assert body_drawing(folded_record()).to_html().count('class="bend"') == 2
    assert folded_drawing(layout()) is None
