"""The solid in a report: its drawings, its scene, what it says where none can be made."""

import json

import pytest
from made_records import hole, layout
from page_reader import EVIL, Reader
from places import CONFIGS

from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord
from optimizer.views.layout_section import layout_section
from optimizer.views.solid import Json, solid_of


@pytest.fixture(scope="module")
def tenor():
    return read_record(CONFIGS / "prototypes" / "lantern-tenor.json", LayoutRecord)


def drawings(record):
    """The drawings of a layout, taken apart."""
    return [Reader(view.to_html()) for view in solid_of(record).views]


def test_a_hole_is_seen_round_from_its_side_and_narrow_from_others():
    # 6 mm wide 200 mm along; from 60 degrees aside it is half as wide round the body, from 90 behind the edge.
    def ovals(azimuth):
        views = drawings(layout(holes=[hole("g1", 200.0, by="L2", azimuth_deg=azimuth), hole("g2", 120.0)]))[:2]
        found = [[each for each in view.of("ellipse") if float(each["cx"]) > 150.0] for view in views]
        return [[(float(each["rx"]), float(each["ry"])) for each in some] for some in found]

    assert ovals(0.0)[0] == [(3.0, 3.0)]
    assert ovals(60.0)[0] == [(3.0, pytest.approx(1.5))]
    assert ovals(180.0)[0] == []
    assert ovals(90.0)[1] == [(3.0, 3.0)]


def test_every_piece_is_drawn_in_every_view(tenor):
    front, side, end = drawings(tenor)
    feet_and_flats = sum(len(piece.flats) + len(piece.feet) for piece in _pieces(tenor))
    assert len(front.of("polygon")) == len(side.of("polygon")) == 5 + feet_and_flats
    assert len(end.of("circle")) == 4 + 2
    assert [view.of("svg")[0]["aria-label"] for view in (front, side, end)] == [
        "the pieces from the front", "the pieces from the side", "the pieces from the reed end"
    ]  # fmt: skip


def _pieces(record):
    from optimizer.handoff.shapes.drawing import drawn

    return drawn(record).pieces


def test_a_layout_that_makes_no_solid_says_why():
    broken = layout(holes=[hole("g1", 220.0, by="L2", diameter=31.0), hole("g2", 120.0)])
    found = Reader(layout_section(broken))
    assert not [each for each in found.of("figure") if each.get("class") == "solid"]
    assert "No solid can be made of it: hole g1 is 31.00 mm wide, and the body 30.00 mm there" in " ".join(found.words)


def test_posts_without_a_foot_are_told(tenor):
    words = " ".join(Reader(layout_section(tenor)).words)
    assert "piece 2: the foot of post 2 of kSide, 180.1 mm from the reed end, would stand on a joint" in words


def test_json_in_a_page_ends_no_script():
    inside = Json(json.dumps(EVIL)).__html__()
    assert "<" not in inside
    assert json.loads(inside) == EVIL
