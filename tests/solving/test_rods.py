"""What axles pass over, worked out by hand on a round body of 30 mm; common practice, no source, for the sizes."""

import pytest
from shelf import KEYED, pipe

from optimizer.geometry.fold import Fold
from optimizer.records.keys import AxleRecord, KeyRecord, PostRecord
from optimizer.records.layout import HoleRecord, PadRecord, Seat
from optimizer.records.pieces import PieceRecord
from optimizer.solving.rods import Rod, cleared_mm, over_finger, passage, piece_at, rod_sentences


@pytest.fixture(scope="module")
def made():
    """A project with a wall of 4, 1 mm between covers, 6 mm of pad and cup, fingers 15 wide."""
    project = pipe(KEYED).project
    keywork = project.keywork.model_copy(update={"cup_clearance_mm": 1.0, "cup_height_mm": 6.0})
    hand = project.hand.model_copy(update={"finger_breadth_mm": 15.0})
    bore = project.bore.model_copy(update={"wall_mm": 4.0})
    return project.model_copy(update={"keywork": keywork, "hand": hand, "bore": bore})


def rod(azimuth=0.0):
    """A rod of 4 mm between two posts, 8 above the body."""
    return Rod(100.0, 200.0, azimuth, 8.0, 4.0)


def axle(azimuth=0.0, **passed):
    """The axle of such a rod, with what it passes."""
    posts = [PostRecord(position_mm=place, room_mm=None, nearest=None) for place in (100.0, 200.0)]
    return AxleRecord(
        azimuth_deg=azimuth,
        length_mm=100.0,
        stock="rod",
        outer_diameter_mm=4.0,
        inner_diameter_mm=0.0,
        modulus_gpa=200.0,
        post_diameter_mm=5.0,
        posts=posts,
        **{"height_mm": 8.0, **passed},
    )


def key(name, at):
    """A key on an axle."""
    return KeyRecord(id=name, touch="L4", moved_by=[], opens=["h1"], closes=[], touch_position_mm=150.0, axle=at)


def hole(position, azimuth=0.0, padded=True):
    """A hole of 8 mm through 5 mm of chimney: a cup of 15 that opens by 3 mm, or a bare finger."""
    pad = PadRecord(diameter_mm=13.0, cup_diameter_mm=15.0, opening_mm=3.0)
    return HoleRecord(
        id="h1",
        role="tone",
        by="L1",
        cover="plate" if padded else "finger",
        rest="open",
        position_mm=position,
        azimuth_deg=azimuth,
        diameter_mm=8.0,
        top_diameter_mm=8.0,
        bore_diameter_mm=22.0,
        chimney_mm=5.0,
        body_diameter_mm=30.0,
        touch_position_mm=None,
        seat=Seat(outer_diameter_mm=11.0, rim_width_mm=1.5) if padded else None,
        pad=pad if padded else None,
        lattice_cutoff_hz=None,
        locked=False,
    )


# The body has a radius of 15, the cup is 15 wide and stands 5 - 4 + 3 + 6 = 10 above it; the rod of 4 keeps 1 mm, so
# that its middle stays 3 from the pad. At a turn t and a height h it lies (15 + h) sin t beside and (15 + h) cos t - 15
# up.


@pytest.mark.parametrize(
    ("turn", "height"),
    [
        # right above: 10 + 3
        (0.0, 13.0),
        # h 13.7: 28.7 x 0.34202 = 9.816, 2.316 beyond the cup; 28.7 x 0.93969 - 15 = 11.969, 1.969 above: 3.040 away.
        # h 13.6: 2.282 and 1.875: 2.953, too near.
        (20.0, 13.7),
        (-20.0, 13.7),
        (340.0, 13.7),
        # h 8: 23 x 0.45399 = 10.442, 2.942 beyond the cup, too near; h 8.1: 10.487, 2.987; h 8.2: 10.532, 3.032.
        (27.0, 8.2),
        # h 8: 23 x 0.46947 = 10.798: clear of it as it is.
        (28.0, 8.0),
        # on the far side of the body
        (180.0, 8.0),
    ],
)
def test_the_height_that_clears_an_open_pad(made, turn, height):
    assert cleared_mm(made, rod(), hole(150.0, turn)) == pytest.approx(height)


# Past the rod's end: at 210 mm 10 - 7.5 = 2.5 from the cup, sqrt(2.99^2 - 2.5^2) = 1.64 above it: 11.64, in steps 11.7.
@pytest.mark.parametrize(("position", "height"), [(210.0, 11.7), (90.0, 11.7), (211.0, 8.0), (89.0, 8.0)])
def test_a_rod_that_ends_before_a_cup_needs_less(made, position, height):
    assert cleared_mm(made, rod(), hole(position)) == pytest.approx(height)


@pytest.mark.parametrize("turn", [17.0, 90.0, 200.0])
def test_turning_rod_and_hole_together_or_mirroring_them_changes_nothing(made, turn):
    for apart in (10.0, 25.0, 42.0):
        plain = cleared_mm(made, rod(), hole(150.0, apart))
        assert cleared_mm(made, rod(azimuth=turn), hole(150.0, turn + apart)) == plain
        assert cleared_mm(made, rod(azimuth=turn), hole(150.0, turn - apart)) == plain


# A finger is 15 wide, too: 10.5 mm beside its middle, at 23 sin t, so between 27 and 28 degrees.
@pytest.mark.parametrize(("turn", "over"), [(0.0, True), (27.0, True), (28.0, False), (180.0, False)])
@pytest.mark.parametrize("padded", [True, False])
def test_no_rod_runs_where_a_finger_lies(made, turn, over, padded):
    assert over_finger(made, rod(), hole(150.0, turn, padded)) is over


def test_a_finger_lies_on_the_touch_of_its_plate(made):
    # The plate's touch lies 20 mm on, at 215: 15 mm past the rod's end, 7.5 from the finger; the cup at 195 does not.
    plate = hole(195.0).model_copy(update={"by": "L1", "cover": "plate", "touch_position_mm": 215.0})
    assert not over_finger(made, rod(), plate)
    assert over_finger(made, rod(), plate.model_copy(update={"touch_position_mm": 205.0}))
    assert cleared_mm(made, rod(), plate) == pytest.approx(13.0)


def piece(low, high):
    """A plain piece of the body."""
    return PieceRecord(
        from_mm=low,
        to_mm=high,
        joint_mm=0.0,
        length_mm=high - low,
        holes=[],
        begin_mm=low,
        end_mm=high,
        diameter_mm=30.0,
        joint=None,
        locked=False,
        to_print=None,
    )


def test_a_rod_is_raised_over_cups_and_tells_fingers_and_joints(made):
    pieces = [piece(120.0, 140.0), piece(140.0, 300.0)]
    found = passage(made, rod(), ["h1"], [hole(150.0)], pieces)
    over = passage(made, rod(), ["h9"], [hole(150.0)], pieces)
    assert (found.height_mm, found.passes_over) == (8.0, [])
    assert (over.height_mm, over.passes_over) == (13.0, ["h1"])
    assert over.crosses_joints == [0, 1]
    assert [piece_at(place, pieces) for place in (100.0, 120.0, 200.0)] == [0, 1, 2]
    bare = passage(made, rod(), ["h9"], [hole(150.0, padded=False)], [])
    assert (bare.height_mm, bare.passes_fingers, piece_at(100.0, [])) == (8.0, ["h1"], None)
    keys = [key(name, axle(**passed._asdict())) for name, passed in (("k2", over), ("k3", bare))]
    said = rod_sentences(keys, [hole(150.0)], Fold([]))
    lead = "lead it along another side"
    assert said[0] == f"the rod of k2 runs where the finger on h1 lies: {lead} (axle_deg)"
    assert said[1].startswith("the rod of k2 crosses the crook's end and joint 1: ")
    assert said[2] == f"the rod of k3 runs where the finger on h1 lies: {lead} (axle_deg)"
    # The two axles are the same one twice: their posts meet, at 100 and at 200 mm.
    assert [sentence.split(":")[0] for sentence in said[3:]] == [
        "posts of k2 and k3 meet at 100 mm",
        "posts of k2 and k3 meet at 200 mm",
    ]


def test_posts_side_by_side_do_not_meet(made):
    # 30 sin(10 degrees) = 5.21, more than the 5 mm of a post; 30 sin(9 degrees) = 4.69.
    assert rod_sentences([key("k1", axle()), key("k2", axle(azimuth=20.0))], [hole(150.0)], Fold([])) == []
    assert len(rod_sentences([key("k1", axle()), key("k2", axle(azimuth=18.0))], [hole(150.0)], Fold([]))) == 2


def test_posts_of_three_rods_in_one_place_are_one_matter():
    keys = [key(name, axle(azimuth=turn)) for name, turn in (("k1", 0.0), ("k2", 9.0), ("k3", 18.0), ("k4", 90.0))]
    assert rod_sentences(keys, [hole(150.0)], Fold([])) == [
        "posts of k1, k2 and k3 meet at 100 mm: let one post carry all their rods",
        "posts of k1, k2 and k3 meet at 200 mm: let one post carry all their rods",
    ]
