"""What axles pass over, worked out by hand on a round body of 30 mm; common practice, no source, for the sizes."""

import pytest
from shelf import KEYED, pipe

from optimizer.key_record import AxleRecord, KeyRecord, PostRecord
from optimizer.piece_record import PieceRecord
from optimizer.records import HoleRecord, PadRecord, Seat
from optimizer.rod_zones import cleared_mm, lies_under, rod_sentences, with_rod_zones


@pytest.fixture(scope="module")
def made():
    """A project with a wall of 4, 1 mm between covers, 6 mm of pad and cup, fingers 15 wide."""
    project = pipe(KEYED).project
    keywork = project.keywork.model_copy(update={"cup_clearance_mm": 1.0, "cup_height_mm": 6.0})
    hand = project.hand.model_copy(update={"finger_breadth_mm": 15.0})
    bore = project.bore.model_copy(update={"wall_mm": 4.0})
    return project.model_copy(update={"keywork": keywork, "hand": hand, "bore": bore})


def axle(low=100.0, high=200.0, azimuth=0.0):
    """A rod of 4 mm between two posts, 8 above the body."""
    posts = [PostRecord(position_mm=place, room_mm=None, nearest=None) for place in (low, high)]
    return AxleRecord(
        azimuth_deg=azimuth,
        height_mm=8.0,
        length_mm=high - low,
        stock="rod",
        outer_diameter_mm=4.0,
        inner_diameter_mm=0.0,
        modulus_gpa=200.0,
        post_diameter_mm=5.0,
        posts=posts,
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
        by="key" if padded else "L1",
        cover="key" if padded else "finger",
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


# Half of a 15 mm cover and of a 4 mm rod, and 1 mm between: 10.5 mm from the middle of the rod to that of the hole.
# Across a body of 30 mm the chord of a turn t is 30 sin(t / 2): 40 degrees 10.26, 41 degrees 10.51.


@pytest.mark.parametrize(("turn", "under"), [(0.0, True), (40.0, True), (41.0, False), (-40.0, True), (319.0, False)])
def test_a_rod_beside_a_cup_is_clear_of_it_from_41_degrees(made, turn, under):
    assert lies_under(made, axle(), hole(150.0, turn)) is under


@pytest.mark.parametrize(("position", "under"), [(210.0, True), (211.0, False), (90.0, True), (89.0, False)])
def test_a_rod_that_ends_before_a_cup_is_clear_of_it_from_10_and_a_half(made, position, under):
    assert lies_under(made, axle(), hole(position)) is under


def test_past_its_end_way_along_and_across_add_as_squares(made):
    # 30 sin(15 degrees) = 7.765 across; sqrt(10.5^2 - 7.765^2) = 7.068 along.
    assert lies_under(made, axle(), hole(207.0, 30.0))
    assert not lies_under(made, axle(), hole(207.1, 30.0))


@pytest.mark.parametrize("turn", [17.0, 90.0, 200.0])
def test_turning_rod_and_hole_together_or_mirroring_them_changes_nothing(made, turn):
    for apart in (39.0, 42.0):
        plain = lies_under(made, axle(), hole(150.0, apart))
        assert lies_under(made, axle(azimuth=turn), hole(150.0, turn + apart)) is plain
        assert lies_under(made, axle(azimuth=turn), hole(150.0, turn - apart)) is plain


def test_the_height_that_clears_an_open_pad(made):
    # Rim 5 - 4 = 1 above the body, 3 open, 6 of pad and cup, 1 between, half the rod 2: 13.
    assert cleared_mm(made, axle(), hole(150.0)) == pytest.approx(13.0)


def test_a_record_is_raised_over_cups_and_tells_fingers_joints_and_pieces(made):
    pieces = [
        PieceRecord(
            from_mm=low, to_mm=high, joint_mm=0.0, length_mm=high - low, holes=[], begin_mm=low, end_mm=high,
            diameter_mm=30.0, joint=None, locked=False, to_print=None,
        )
        for low, high in ((50.0, 140.0), (140.0, 300.0))
    ]  # fmt: skip
    (over,) = with_rod_zones(made, [key("k1", axle())], [hole(150.0)], pieces)
    assert (over.axle.height_mm, over.axle.passes_over, over.axle.crosses_joints) == (13.0, ["h1"], [1])
    assert [post.piece for post in over.axle.posts] == [1, 2]
    (bare,) = with_rod_zones(made, [key("k1", axle())], [hole(150.0, padded=False)], [])
    assert (bare.axle.height_mm, bare.axle.passes_fingers, bare.axle.posts[0].piece) == (8.0, ["h1"], None)
    said = rod_sentences([over, bare.model_copy(update={"id": "k2"})], [hole(150.0)])
    assert "the axle of k1 crosses joint 1" in said[0]
    assert "the axle of k2 passes over the finger on h1" in said[1]
    # The two axles are the same one twice: their posts meet, at 100 and at 200 mm.
    assert [sentence.split(":")[0] for sentence in said[2:]] == [
        "posts of k1 and k2 meet at 100 mm",
        "posts of k1 and k2 meet at 200 mm",
    ]


def test_posts_side_by_side_do_not_meet(made):
    # 30 sin(10 degrees) = 5.21, more than the 5 mm of a post; 30 sin(9 degrees) = 4.69.
    assert rod_sentences([key("k1", axle()), key("k2", axle(azimuth=20.0))], [hole(150.0)]) == []
    assert len(rod_sentences([key("k1", axle()), key("k2", axle(azimuth=18.0))], [hole(150.0)])) == 2
