"""Zones for strap ring, thumb rest and peg: by hand on a cylinder of 20 mm bore and 5 mm wall (radius 15)."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from layouts import keyed, layout_of
from pieced import SHRUNK, jointed, trial
from shelf import KEYED, PIPE, changed, pipe

from optimizer.analysis.printed_pieces import locked_text
from optimizer.commands.cli import main
from optimizer.geometry.fittings import fitting_table, outside
from optimizer.geometry.measured_layout import measured
from optimizer.limits.catalogue import build_constraints
from optimizer.limits.conflicts import verdict_on
from optimizer.project.loading import ProjectError
from optimizer.project.marks import mark_of
from optimizer.project.toml_text import tables_of
from optimizer.records.files import write_record
from optimizer.solving.zones import fitting_records
from optimizer.views.layout_section import layout_section

LINE = "{} = {{ position_mm = {}, length_mm = {}, width_mm = {}, azimuth_deg = {} }}\n"


def with_fittings(*rows, text=KEYED):
    """A text with fittings, each a name, position, length, width and azimuth."""
    return f"{text}\n[fittings]\n" + "".join(LINE.format(*row) for row in rows)


def placed(*rows, text=KEYED, **moved):
    """Where the fittings of the keyed pipe lie, and the room to each thing by name."""
    project, layout = keyed(with_fittings(*rows, text=text))
    layout = layout_of(text=with_fittings(*rows, text=text), **moved)
    table = fitting_table(project)
    found = table.placed(measured(layout, project))
    return found, [dict(zip(table.names, map(float, room), strict=True)) for room in found.room]


def test_room_to_what_stands_near():
    # A ring of 20 x 10 mm at 240 on the back. The thumb's finger, 16 wide, at 210: 30 - 10 - 8 = 12 along the body. h6,
    # half way round at 215: 25 - 10 = 15 along, pi 15 - 5 = 42.124 round, less half a finger. The bell at 580: 330.
    found, (room,) = placed(("ring", 240, 20, 10, 180))
    assert found.position.tolist() == [240.0]
    assert room["h7"] == pytest.approx(12.0, abs=1e-3)
    assert room["h6"] == pytest.approx(math.hypot(15.0, 15 * math.pi - 5) - 8.0, abs=1e-3)
    assert room["the bell end"] == pytest.approx(580 - 240 - 10, abs=1e-3)
    assert room["the crook"] == pytest.approx(240 - 10 - 0, abs=1e-3)
    # The touch of the octave key at 196: 44 - 10 - 8; its axle of 5 mm runs from 94 to 202 beside the vent in front.
    assert room["the touch of octave"] == pytest.approx(26.0, abs=1e-3)
    turn = math.pi - 2 * math.asin(7.44 / 30)
    axle = math.hypot(240 - 202 - 10, 15 * turn - 5) - 2.5
    assert room["the rod of octave"] == pytest.approx(axle, abs=1e-3)
    # Hole, finger on it and finger at rest are three at 12: a smooth minimum, 0.1 log 3 low.
    assert found.least[0] == pytest.approx(12.0 - 0.1 * math.log(3), abs=1e-3)


def test_a_zone_over_a_hole_lacks_how_far_it_would_have_to_go():
    # Middle 4 mm from h7's: 4 - 10 = -6 along, -5 round: the nearer edge is 5 away, and half a finger 8: -13 and 2.
    project, layout = keyed(with_fittings(("ring", 214, 20, 10, 180)))
    found = build_constraints(project)
    values = {item.name: float(g) for item, g in zip(found.items, found.values(layout), strict=True)}
    assert values["fitting.ring"] == pytest.approx(2.0 + 13.0, abs=0.2)


def test_a_plates_finger_is_kept_clear_of_beside_its_cup():
    # h3's plate at 400 is touched 14 mm nearer the bell; a ring before it, from 424 on: 430 - 414 - 6 - 8 = 2.
    _, (room,) = placed(("ring", 430, 12, 8, 0), offset=14.0, positions={"h2": 460.0})
    assert room["R1"] == pytest.approx(2.0, abs=1e-3)


def test_a_joint_is_kept_clear_of_all_the_way_round():
    # The tenon around a bore of 20 is 26 wide, so the joint 20.8 long: at 300, a ring of 20 at 330 has 30 - 10 - 10.4.
    text = KEYED + "\n[sections]\njoints = [0, 2]\njoint_mm = 20\npiece_max_mm = 500\n"
    project, layout = keyed(with_fittings(("ring", 330, 20, 10, 90), text=text))
    table = fitting_table(project)
    for used, room in (([1, 0], 9.6), ([0, 0], None)):
        choice = layout.choice._replace(joint_used=np.array(used, float))
        jointed_ = layout._replace(joint_mm=np.array([300.0, 331.0]), choice=choice)
        found = dict(zip(table.names, table.placed(measured(jointed_, project)).room[0], strict=True))
        assert found["joint 1"] == pytest.approx(room, abs=1e-3) if room else found["joint 1"] > 1000
        assert found["joint 2"] > 1000


def test_a_limit_asks_for_the_place_with_most_room():
    # As much as anywhere in steps of 4 mm across its range, on the back from the thumb's finger on.
    found, _ = placed(("peg", "[222, 330]", 10, 10, 180))
    places = np.linspace(222, 330, 28)
    anywhere = [placed(("peg", float(place), 10, 10, 180))[0].least[0] for place in places]
    assert found.least[0] == pytest.approx(max(anywhere), abs=1e-9)
    assert found.roomiest[0] == places[int(np.argmax(anywhere))]


def test_a_fitting_lies_as_near_the_middle_of_its_range_as_there_is_room():
    # The thumb's finger at 210 reaches to 218; with 2 mm to spare and half of 20 the middle is at 230 or beyond: of
    # 180, 184 ... 280 that is the 232, as the smooth minimum of three things is 0.11 low. Else it is the middle.
    found, _ = placed(("ring", "[180, 280]", 20, 10, 180))
    assert found.position[0] == 232.0
    found, _ = placed(("ring", "[300, 500]", 20, 10, 180))
    assert found.position[0] == 400.0


def test_a_second_fitting_keeps_clear_of_the_first():
    found, rooms = placed(("one", "[300, 500]", 20, 10, 180), ("two", "[300, 500]", 20, 10, 180))
    first, second = found.position
    assert abs(second - first) >= 20 + 2
    assert rooms[1]["one"] == pytest.approx(abs(second - first) - 20, abs=1e-3)
    assert rooms[0]["two"] > 1000  # it was there first


@given(st.floats(-40, 40), st.floats(-40, 40), st.floats(1, 20), st.floats(1, 20))
def test_distance_from_a_rectangle_is_that_of_its_nearest_outline(x, y, half_length, half_width):
    walk = np.linspace(-1.0, 1.0, 2001)
    edges = np.concatenate(
        [np.stack([walk * half_length, np.full(walk.size, side * half_width)], 1) for side in (-1, 1)]
        + [np.stack([np.full(walk.size, side * half_length), walk * half_width], 1) for side in (-1, 1)]
    )
    nearest = float(np.min(np.hypot(edges[:, 0] - x, edges[:, 1] - y)))
    inside = abs(x) < half_length and abs(y) < half_width
    found = float(outside(np.array(abs(x) - half_length), np.array(abs(y) - half_width)))
    assert found == pytest.approx(-nearest if inside else nearest, abs=0.011)


RING = "[fittings]\nring = {{ position_mm = {}, length_mm = {}, width_mm = 20, azimuth_deg = 0 }}\n\n[holes]"


def in_front(position, length):
    """The practice pipe with a ring among its holes."""
    return pipe(changed("[holes]", RING.format(position, length), PIPE))


def test_holes_make_room_for_a_ring_in_the_middle_of_their_ranges():
    verdict = verdict_on(in_front(225, 10))
    assert verdict.room


def test_a_ring_that_leaves_no_room_is_named_among_what_conflicts():
    # From 175 to 255 no hole may lie, with 10 mm more on either side: g2 has none left of 170 to 250.
    verdict = verdict_on(in_front(215, 80))
    assert not verdict.room
    named = {member.name for conflict in verdict.conflicts for member in conflict.members}
    assert "fitting.ring" in named


def test_a_layout_shows_its_fittings(tmp_path, capsys):
    text = with_fittings(("thumb_rest", "[230, 250]", 20, 12, 180), text=SHRUNK)
    record = jointed(text)
    (rest,) = record.fittings
    assert 230 <= rest.position_mm <= 250
    assert rest.piece == sum(piece.from_mm <= rest.position_mm for piece in record.pieces)
    write_record(tmp_path / "t00000.json", record)
    assert main(["show", str(tmp_path / "t00000.json")]) == 0
    out = " ".join(capsys.readouterr().out.split())
    page = layout_section(record, True)
    for said in (out, page):
        assert "Fittings" in said
        assert "thumb rest" in said
    assert f"{rest.position_mm:.2f} 180 20.0 12.0 {rest.piece} {rest.room_mm:.1f} {rest.nearest}" in out
    assert 'class="fitting far"' in page
    assert "zones kept clear" in page


def test_a_record_says_how_much_room_and_to_what():
    project, layout = keyed(with_fittings(("ring", 240, 20, 10, 180)))
    (found,) = fitting_records(project, layout, [])
    assert (found.position_mm, found.room_mm, found.nearest, found.piece) == (240.0, 12.0, "h7", None)


def test_a_fitting_of_a_printed_piece_stays_where_it_is():
    text = with_fittings(("ring", "[60, 200]", 10, 10, 180), text=SHRUNK)
    loaded = pipe(text)
    record = trial(loaded, 0, (0.5,), 0.5, 0.0)
    number = record.fittings[0].piece
    for piece, place in ((number, record.fittings[0].position_mm), (3 - number, [60, 200])):
        assert tables_of(locked_text(loaded, record, [piece]))["fittings"]["ring"]["position_mm"] == place


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (("peg", 590, 30, 10, 180), "fittings.peg.position_mm: its middle must lie between 15 and 585, on the body"),
        (("peg", "[-4, 30]", 30, 10, 180), "fittings.peg.position_mm: must be at least 0, but got -4"),
        (("peg", "[40, 30]", 30, 10, 180), "fittings.peg.position_mm: low <= high must hold"),
        (("peg", 300, 0, 10, 180), "fittings.peg.length_mm: must be more than 0"),
    ],
)
def test_fittings_that_cannot_be_are_told(row, said):
    with pytest.raises(ProjectError) as raised:
        pipe(with_fittings(row))
    assert said in str(raised.value)


def test_a_project_without_fittings_has_no_limit_of_them():
    assert not [item for item in build_constraints(pipe(KEYED).project).items if item.name.startswith("fitting")]
    assert mark_of(pipe(KEYED).project) != mark_of(pipe(with_fittings(("ring", 240, 20, 10, 180))).project)
