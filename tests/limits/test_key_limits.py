"""Limits of touches, axles and posts, worked out by hand on a cylinder of 20 mm bore and 5 mm wall (radius 15)."""

import math

import pytest
from layouts import LITTLE, keyed
from places import CONFIGS
from shelf import KEYED, changed, pipe

from optimizer.geometry.measured_layout import measured
from optimizer.geometry.touches import key_plans
from optimizer.limits.axles import lost_motion, post_limits
from optimizer.limits.keys import ReachTable, beside_cups, touch_cups, touch_reaches, touch_room, touches_on_cups
from optimizer.project.fingers import row_places
from optimizer.project.loading import load_project
from optimizer.solving.keys import key_records

KEYS = 'kLow = { touch = "L4", opens = ["h1"] }\nkTwo = { touch = "L4", opens = ["h1"] }\n'


TWO = KEYED.replace('kLow = { touch = "R4", opens = ["h1"] }\n', KEYS)


def test_a_key_may_say_where_its_touch_lies():
    text = changed('touch = "LT", opens', 'touch = "LT", touch_along_mm = -20, touch_across_mm = 15, opens', KEYED)
    project, layout = keyed(text)
    at = measured(layout, project).touches
    assert float(at.position[1]) == pytest.approx(190.0, abs=1e-9)
    assert float(at.azimuth[1]) == pytest.approx(math.pi + 1.0, abs=1e-9)
    # 20 along, and the chord of one radian, 30 sin 0.5 = 14.3828: 24.6345 from the thumb's hole.
    assert reached(project, layout)["LT"] == pytest.approx(24.6345, abs=1e-3)


def reached(project, layout):
    """How far the finger must reach for the touch that is counted from each finger [mm]."""
    rows = touch_reaches(project)
    distances = ReachTable(rows, len(key_plans(project))).distances(measured(layout, project))
    return dict(zip([row.origin for row in rows], distances, strict=True))


def test_a_little_finger_must_reach_its_touch_from_ring_and_index_finger():
    # From L3: along 25, across the chord 2 x 15 sin 0.5 = 14.3828 of the 15 mm that it takes anyway: 25.0076.
    # From L1, which touches at 215: along 70.25: 70.2527.
    project, layout = keyed(LITTLE)
    assert reached(project, layout) == pytest.approx({"L3": 25.0076, "L1": 70.2527, "LT": 14.0}, abs=1e-3)


def test_two_touches_under_one_finger_need_room():
    # 14 mm round a radius of 15: the chord 30 sin(14 / 30) = 13.4974; at least 11.
    project, layout = keyed(TWO)
    items, values = touch_room(project)
    assert [item.name for item in items] == ["touch_room.kLow-kTwo"]
    assert float(values(measured(layout, project))[0]) == pytest.approx(11.0 - 13.4974, abs=1e-3)


def test_touches_of_two_fingers_need_room():
    # L3's side touch is said to lie where L4 rests: 25 toward the bell, 15 round toward the palm.
    beside = 'kTwo = { touch = "L3", touch_along_mm = 25, touch_across_mm = -15, opens = ["h1"] }'
    project, layout = keyed(changed('kTwo = { touch = "L4", opens = ["h1"] }', beside, TWO))
    items, values = touch_room(project)
    assert [item.name for item in items] == ["touch_room.kLow-kTwo"]
    assert float(values(measured(layout, project))[0]) == pytest.approx(11.0, abs=1e-3)


@pytest.mark.parametrize(("across", "apart"), [(0.0, 5.0), (-15.0, math.hypot(5.0, 30.0 * math.sin(0.5)))])
def test_a_touch_lies_beside_the_cups_of_other_keys(across, apart):
    # R2 rests at 430; a touch 25 mm nearer the reed lies at 405, 5 mm from the plate over h3, which is 16.2 broad, and
    # 15 mm round a radius of 15 are a chord of 30 sin 0.5; touches are 11 broad. The cup over h1, which that very
    # key opens, is left out.
    two = f'kTwo = {{ touch = "R2", touch_along_mm = -25, touch_across_mm = {across!r}, opens = ["h1"] }}'
    text = changed('kTwo = { touch = "L4", opens = ["h1"] }', two, TWO)
    project, layout = keyed(f"{text}\n[keywork]\ntouch_breadth_mm = 11\n")
    items, values = touch_cups(project)
    found = dict(zip([item.name for item in items], values(measured(layout, project)), strict=True))
    assert float(found["touch_cup.kTwo-h3"]) == pytest.approx(0.5 * (16.2 + 11.0) - apart, abs=1e-6)
    assert [name for name in found if name.startswith("touch_cup.kTwo") and name.endswith("h1")] == []
    # Of no breadth said nothing is held, but told where its middle lies on the cup: 5 of 8.1 mm, not 15.2.
    project, layout = keyed(text)
    assert touch_cups(project)[0] == []
    told = touches_on_cups(measured(layout, project))
    assert [each.startswith("the touch of kTwo lies on the cup over h3") for each in told] == [True] * (apart < 8.1)


def test_a_cup_that_no_pad_has_is_in_no_touchs_way():
    # With a bare hole in place of the plate.
    two = 'kTwo = { touch = "R2", touch_along_mm = -25, opens = ["h1"] }'
    text = changed('kTwo = { touch = "L4", opens = ["h1"] }', two, TWO)
    names = [
        [item.name for item in beside_cups(pipe(each).project, 11.0)[0]]
        for each in (text, text.replace('cover = "plate", ', ""))
    ]
    assert ["touch_cup.kTwo-h3" in each for each in names] == [True, False]


def test_a_touch_that_a_finger_rests_on_counts_as_that_finger():
    # `cups` keeps fingers in rows off pads; a second limit for the touch below one would say the same twice.
    project = load_project(CONFIGS / "cellar-bass.toml").project
    names = [item.name for item in beside_cups(project, 11.0)[0]]
    assert {name.removeprefix("touch_cup.").split("-")[0] for name in names}.isdisjoint(
        place.key for place in row_places(project)
    )
    assert len(names) > 50


def test_touches_of_a_thumb_and_of_the_palm_meet_behind_a_thin_body():
    # The octave key's touch lies behind, at 196. A touch of L1 (at 215) that is 19 mm nearer the reed and 0.5 rad short
    # of half way round is a chord of 30 sin 0.25 = 7.4221 from it.
    across = -15.0 * (math.pi - 0.5)
    palm = f'kTwo = {{ touch = "L1", touch_along_mm = -19, touch_across_mm = {across!r}, opens = ["h1"] }}'
    project, layout = keyed(changed('kTwo = { touch = "L4", opens = ["h1"] }', palm, TWO))
    items, values = touch_room(project)
    found = dict(zip([item.name for item in items], values(measured(layout, project)), strict=True))
    assert float(found["touch_room.kTwo-octave"]) == pytest.approx(11.0 - 7.4221, abs=1e-4)


def test_a_thin_rod_breaks_the_limit_and_says_so():
    # Steel rod of 2: G J = 76923 x 1.5708 = 120830, against 2.0541e6 of the tube. The octave key's touch lies behind,
    # 180 less 28.72 degrees from its axle: arm 15 x 2.64036 = 39.6054; pad arm 15 x 0.501230 = 7.51846; 96 mm twist by
    # 39.6054 x 96 / 120830 = 0.0314666, x 7.51846 = 0.236580. With 0.1 of play, more than a tenth of 2.5.
    text = (
        KEYED + '\n[keywork]\nstock = "rod"\nstock_outer_mm = 2\nstock_modulus_gpa = 200\nlost_motion_max_share = 0.1\n'
    )
    project, layout = keyed(text)
    items, values = lost_motion(project)
    row = [item.name for item in items].index("lost_motion.octave-v1")
    bends = 39.6054**2 * 7.51846 / 8e6 + 39.6054 * 7.51846**2 / 8e6
    assert float(values(measured(layout, project))[row]) == pytest.approx(0.236580 + bends + 0.1 - 0.25, abs=1e-4)
    assert "10 % of the opening of v1" in items[row].sentence


def test_a_post_is_told_from_what_stands_nearest():
    # An axle over the fingers' row, its posts held at 6 mm: the octave key at 196, so a post at 202 in front; L1 lies
    # at 215, 16 broad: 13 - 10.5 = 2.5 mm of room, and with 3 asked for 0.5 are lacking.
    text = changed('touch = "LT", opens', 'touch = "LT", axle_deg = 0, opens', KEYED)
    project, layout = keyed(text + "\n[keywork]\npost_shift_max_mm = 0\npost_clearance_mm = 3\n")
    items, values = post_limits(project)
    assert float(values(measured(layout, project))[1]) == pytest.approx(0.5, abs=1e-3)
    axle = key_records(project, layout)[2].axle
    assert axle is not None
    assert (axle.posts[-1].nearest, axle.posts[-1].room_mm) == ("h6", 2.5)
    assert axle.posts[-1].position_mm == 202.0
    assert "bell" in items[1].sentence
