"""Layouts that make no pieces: a sentence for each thing that stands in the way."""

import pytest
from made_records import hole, layout
from places import CONFIGS

from optimizer.handoff.shapes.drawing import ShapeError, drawn
from optimizer.records.files import RecordError, read_record
from optimizer.records.layout import BoreTable, LayoutRecord, Seat


@pytest.fixture(scope="module")
def tenor():
    return read_record(CONFIGS / "prototypes" / "lantern-tenor.json", LayoutRecord)


def with_hole(record, name, **changes):
    """A record with one of its holes changed."""
    holes = [hole.model_copy(update=changes) if hole.id == name else hole for hole in record.holes]
    return record.model_copy(update={"holes": holes})


def problems(record):
    """What is said of a layout that makes no pieces."""
    with pytest.raises(ShapeError) as caught:
        drawn(record)
    assert caught.value.heading == f"layout {record.id} makes no pieces"
    return caught.value.problems


def test_a_hole_wider_than_the_body(tenor):
    broken = with_hole(tenor, "h05", diameter_mm=40.0, top_diameter_mm=40.0)
    assert any(said.startswith("hole h05 is 40.00 mm wide, and the body 31.87 mm there") for said in problems(broken))


def test_a_seat_over_a_joint(tenor):
    (said,) = problems(with_hole(tenor, "h03", position_mm=711.002))
    assert said == "the flat of hole h03 reaches 0.66 mm over the joint at the reed end of piece 4: move one of them"


def test_a_hole_over_the_bell_end(tenor):
    said = problems(with_hole(tenor, "h01", position_mm=916.0))
    assert said[0].startswith("hole h01 reaches 5.13 mm over the bell end of piece 4")


def test_a_hole_on_no_piece(tenor):
    pieces = [*tenor.pieces[:-1], tenor.pieces[-1].model_copy(update={"holes": ["h01", "h02"]})]
    assert problems(tenor.model_copy(update={"pieces": pieces})) == ["hole h03 is on none of its pieces"]


def test_joints_of_an_old_file(tenor):
    pieces = [piece.model_copy(update={"joint": None}) for piece in tenor.pieces]
    assert problems(tenor.model_copy(update={"pieces": pieces})) == [
        f"joint {number} has no sizes, as in files from before 1.2; solve the layout anew" for number in (1, 2, 3)
    ]


def test_a_tenon_too_short_for_its_grooves(tenor):
    joint = tenor.pieces[0].joint.model_copy(update={"grooves": 8})
    pieces = [tenor.pieces[0].model_copy(update={"joint": joint}), *tenor.pieces[1:]]
    (said,) = problems(tenor.model_copy(update={"pieces": pieces}))
    assert "too short for its 8 grooves of 2.10 mm" in said


def test_a_tenon_thinner_than_its_bore(tenor):
    joint = tenor.pieces[0].joint.model_copy(update={"tenon_diameter_mm": 13.0})
    pieces = [tenor.pieces[0].model_copy(update={"joint": joint}), *tenor.pieces[1:]]
    assert any(said.startswith("no wall is left") for said in problems(tenor.model_copy(update={"pieces": pieces})))


@pytest.mark.parametrize("figure", ["NaN", "Infinity", "-Infinity"])
def test_a_figure_that_is_no_number(tmp_path, tenor, figure):
    path = tmp_path / "layout.json"
    text = tenor.model_dump_json(indent=1)
    path.write_text(text.replace('"chimney_mm": 10.68', f'"chimney_mm": {figure}'), encoding="utf-8")
    with pytest.raises(RecordError, match="beyond all measure"):
        read_record(path, LayoutRecord)


# what is no fault


def test_a_body_in_one_piece_without_a_crook():
    (body,) = drawn(layout()).pieces
    assert (body.name, body.length_mm, body.socket, body.tenon, body.down) == ("body", 300.0, None, None, "bell")
    assert drawn(layout()).crook is None


def test_a_chimney_other_than_the_wall_gets_a_flat_without_a_seat():
    high, low = hole("g1", 220.0, by="L2", chimney_mm=8.0), hole("g2", 180.0, chimney_mm=3.0)
    (body,) = drawn(layout(holes=[high, low])).pieces
    assert [(flat.hole, flat.diameter_mm, flat.top_mm, flat.sunk, flat.stated) for flat in body.flats] == [
        ("g1", 10.0, 18.0, False, False), ("g2", 10.0, 13.0, True, False)
    ]  # fmt: skip


def test_a_seat_that_is_recorded_is_taken():
    seat = Seat(outer_diameter_mm=12.0, rim_width_mm=3.0, top_mm=0.0)
    (body,) = drawn(layout(holes=[hole("g1", 220.0, by="L2", seat=seat), hole("g2", 180.0)])).pieces
    assert [(flat.hole, flat.diameter_mm, flat.stated) for flat in body.flats] == [("g1", 12.0, True)]


def test_a_hole_close_to_the_crook_leaves_no_receiver_and_is_told():
    bore = BoreTable(points_mm=[(0.0, 10.0), (300.0, 20.0)], wall_mm=5.0, crook_end_mm=60.0)
    record = layout(bore=bore, holes=[hole("g1", 220.0, by="L2"), hole("g2", 68.0)])
    (body,) = drawn(record).pieces
    assert body.socket is None
    assert "leaves no room for a receiver" in body.left_out[0]
    assert drawn(record).crook.inserted_mm == 0.0


def test_a_bore_with_a_step_is_drawn_with_it():
    bore = BoreTable(
        points_mm=[(0.0, 10.0), (100.0, 10.0), (100.0, 12.0), (300.0, 12.0)], wall_mm=5.0, crook_end_mm=0.0
    )
    (body,) = drawn(layout(bore=bore)).pieces
    assert body.inside == ((0.0, 5.0), (100.0, 5.0), (100.0, 6.0), (300.0, 6.0))
    assert body.outside == ((0.0, 10.0), (100.0, 10.0), (100.0, 11.0), (300.0, 11.0))
