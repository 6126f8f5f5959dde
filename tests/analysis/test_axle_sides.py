"""On which side of its pad an axle lies: by the project, and by posts that are printed already."""

import pytest
from layouts import LITTLE, keyed
from made_records import hole
from made_records import layout as made_layout
from shelf import KEYED, changed, pipe

from optimizer.analysis.axle_sides import made_axles, made_sides, settled_sides
from optimizer.analysis.printed_pieces import Extended, KeptPiecesError, with_locked, with_sides
from optimizer.records.layout import BoreTable
from optimizer.records.pieces import PieceRecord
from optimizer.solving.keys import key_records


def test_sides_written_into_a_project_are_those_it_has_then():
    loaded = pipe(changed('opens = ["v1"]', 'axle_deg = 90, opens = ["v1"]', LITTLE))
    own = settled_sides(loaded.project)
    assert set(own) == {"kLow", "link"}
    other = {key: "counterclockwise" if side == "clockwise" else "clockwise" for key, side in own.items()}
    assert settled_sides(with_sides(loaded, other).project) == other
    assert settled_sides(with_sides(loaded, own).project) == own
    assert with_sides(loaded, {}) is loaded


def test_posts_on_a_printed_piece_say_where_their_axle_lies():
    # kLow's pad at 60 degrees: an axle at 20 is 40 degrees counterclockwise of it. The octave key's at 180: one at -170
    # is 10 degrees clockwise. Posts on pieces 2 and 3, and 1 and 2.
    project, layout = keyed(LITTLE)
    low, link, octave = key_records(project, layout)
    low, octave = on_pieces(low, 20.0, (2, 3)), on_pieces(octave, -170.0, (1, 2))
    record = made_layout(keys=[low, link, octave])
    turned_vent = pipe(changed("chimney_mm = 7 }", "chimney_mm = 7, azimuth_deg = 180 }", LITTLE)).project
    assert made_axles(record, [1]) == {"octave": -170.0}
    assert made_sides(turned_vent, made_axles(record, [1])) == {"octave": "clockwise"}
    assert made_sides(turned_vent, made_axles(record, [3])) == {"kLow": "counterclockwise"}
    assert made_sides(turned_vent, made_axles(record, [0])) == {}
    assert set(made_sides(turned_vent, made_axles(record, [2]))) == {"kLow", "octave"}


def on_pieces(key, azimuth_deg, pieces):
    posts = [post.model_copy(update={"piece": piece}) for post, piece in zip(key.axle.posts, pieces, strict=False)]
    return key.model_copy(update={"axle": key.axle.model_copy(update={"azimuth_deg": azimuth_deg, "posts": posts})})


CUT = changed("[keys]", "[sections]\njoints = [1, 2]\npiece_max_mm = 500\njoint_mm = 16\n[keys]", KEYED)
"""The keyed pipe in pieces; its vent in front, at 0."""


FARTHER = changed('opens = ["v1"]', 'opens = ["v1"], closes = ["h4"]', CUT)
"""The octave key closes h4 too, some 150 mm from its touch, where the vent is some 100: its axle runs beside h4."""


def printed_upper(azimuth_deg):
    """The upper piece of CUT with the vent's axle at an azimuth."""
    octave = on_pieces(key_records(*keyed())[2], azimuth_deg, (1, 1))
    holes = [
        hole("h5", 260.25, 7.1234567, "L3"),
        hole("h6", 215.0, 8.0),
        hole("h7", 205.0, 6.0, "LT", azimuth_deg=180.0),
        hole("v1", 100.0, 2.0, "key", chimney_mm=7.0),
    ]
    pieces = [
        PieceRecord(from_mm=0.0, to_mm=280.0, joint_mm=20.0, length_mm=290.0, holes=[each.id for each in holes]),
        PieceRecord(from_mm=280.0, to_mm=580.0, joint_mm=0.0, length_mm=310.0, holes=[]),
    ]
    bore = BoreTable(points_mm=[(0.0, 20.0), (580.0, 20.0)], wall_mm=5.0, crook_end_mm=0.0)
    return made_layout(holes=holes, keys=[octave], pieces=pieces, bore=bore)


def locked_on(text, azimuth_deg):
    return with_locked(pipe(text), printed_upper(azimuth_deg), [1], Extended())


@pytest.mark.parametrize(("azimuth_deg", "side"), [(28.72, "clockwise"), (-28.72, "counterclockwise")])
def test_locking_keeps_an_axle_on_the_side_it_is_printed_on(azimuth_deg, side):
    # Both sides of the vent, of which the project by itself settles on one.
    assert settled_sides(locked_on(CUT, azimuth_deg).project)["octave"] == side


def test_a_printed_side_is_told_from_the_pad_that_the_axle_lies_beside_now():
    # The axle at 30 is clockwise of the vent at 0; of h4, turned to 60, it is counterclockwise.
    assert settled_sides(locked_on(FARTHER, 30.0).project)["octave"] == "clockwise"
    aside = changed("chimney_mm = [5, 8] }", "chimney_mm = [5, 8], azimuth_deg = 60 }", FARTHER)
    assert settled_sides(locked_on(aside, 30.0).project)["octave"] == "counterclockwise"


@pytest.mark.parametrize(
    ("said", "azimuth_deg", "sentence"),
    [
        ('axle_side = "clockwise"', -30.0, "keys.octave.axle_side: is printed counterclockwise, not clockwise"),
        ("axle_deg = 30", -30.0, "keys.octave.axle_deg: is printed at -30, not 30"),
        ("lever_max_mm = 150", 180.0, "in line with or opposite v1, so on which side of it cannot be told"),
    ],
)
def test_a_key_that_leads_its_axle_past_printed_posts_is_named(said, azimuth_deg, sentence):
    text = changed("lever_max_mm = 140", said, CUT)
    with pytest.raises(KeptPiecesError) as caught:
        locked_on(text, azimuth_deg)
    assert len(caught.value.problems) == 1
    assert sentence in caught.value.problems[0]


@pytest.mark.parametrize(("said", "azimuth_deg"), [("axle_deg = 180", 180.0), ("axle_deg = 330", -30.0)])
def test_an_azimuth_that_is_as_printed_stays(said, azimuth_deg):
    loaded = locked_on(changed("lever_max_mm = 140", said, CUT), azimuth_deg)
    assert loaded.project.keys[2].axle_side is None
