"""Pieces as shapes, against the figures of their records and by what a draughtsman would say of them."""

from itertools import pairwise

import pytest
from places import CONFIGS

from optimizer.handoff.shapes.drawing import drawn, sizing_of
from optimizer.handoff.shapes.outline import outer, radius_at
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord


@pytest.fixture(scope="module")
def tenor():
    return read_record(CONFIGS / "prototypes" / "lantern-tenor.json", LayoutRecord)


@pytest.fixture(scope="module")
def pieces(tenor):
    return drawn(tenor).pieces


def test_pieces_are_as_long_as_their_records_say_and_begin_where_they_begin(tenor, pieces):
    for piece, record in zip(pieces, tenor.pieces, strict=True):
        assert (piece.begin_mm, piece.length_mm) == (record.begin_mm, record.length_mm)
        for line in (piece.outside, piece.inside):
            assert (line[0][0], line[-1][0]) == pytest.approx((0.0, record.length_mm))
            assert all(low[0] <= high[0] for low, high in pairwise(line))


def test_bore_goes_on_from_piece_to_piece_as_the_record_has_it(tenor, pieces):
    for piece in pieces:
        start = piece.socket.depth_mm
        for z in (start + 0.001, 0.5 * (start + piece.length_mm), piece.length_mm - 0.001):
            wanted = 0.5 * (tenor.bore.body_diameter_mm(piece.begin_mm + z) - 2.0 * tenor.bore.wall_mm)
            assert radius_at(piece.inside, z) == pytest.approx(wanted, abs=1e-6)


def test_tenon_and_socket_meet_with_their_clearance_all_the_way(tenor, pieces):
    for first, second, record in zip(pieces[:-1], pieces[1:], tenor.pieces, strict=False):
        joint, start = record.joint, first.length_mm - record.joint.length_mm
        assert len(first.tenon.grooves) == joint.grooves
        for z in (0.5, 3.0, joint.length_mm - 1.0, joint.length_mm - 0.01):
            gap = radius_at(second.inside, z) - radius_at(first.outside, start + z)
            assert gap == pytest.approx(joint.radial_clearance_mm, abs=1e-6)
        assert radius_at(second.outside, 1.0) == pytest.approx(0.5 * joint.socket_outer_diameter_mm)


def test_sockets_have_backs_of_45_degrees(pieces):
    for piece in pieces[1:]:
        depth, ring = piece.socket.depth_mm, 0.5 * piece.socket.outer_diameter_mm
        assert radius_at(piece.outside, depth + 1.0) == pytest.approx(ring - 1.0)


def test_printed_sizes_are_those_of_to_print(tenor):
    printed = drawn(tenor, sizing_of(tenor, "printed")).pieces
    for piece, record in zip(printed, tenor.pieces, strict=True):
        wanted = record.to_print
        assert piece.length_mm == pytest.approx(wanted.length_mm, abs=1e-4)
        for hole, told in zip(piece.holes, wanted.holes, strict=True):
            assert (hole.z_mm, *hole.bore_mm, *hole.mouth_mm, hole.top_mm - hole.crown_mm) == pytest.approx(
                (told.from_end_mm, *told.diameter_mm, *told.top_diameter_mm, told.chimney_mm), abs=1e-4
            )
        if wanted.socket and piece.socket.takes == "tenon":
            assert piece.socket.diameter_mm == pytest.approx(wanted.socket.diameter_mm, abs=1e-4)
        for z, diameter in wanted.bore_points_mm[1:]:
            assert radius_at(piece.inside, z, before=True) == pytest.approx(0.5 * diameter, abs=1e-3)


def test_holes_to_ream_are_smaller_by_what_is_reamed(tenor):
    less = {"h01": 0.4, "h05": 0.2}
    plain, small = (drawn(tenor, sizing_of(tenor, state, less)) for state in ("printed", "printed to ream"))
    for one, other in zip(plain.pieces, small.pieces, strict=True):
        for hole, smaller in zip(one.holes, other.holes, strict=True):
            by = less.get(hole.id, 0.0) * tenor.printing.factor_across
            assert hole.bore_mm[1] - smaller.bore_mm[1] == pytest.approx(by)
            assert hole.mouth_mm[1] - smaller.mouth_mm[1] == pytest.approx(by)


def test_flats_stand_as_high_as_the_chimney(tenor, pieces):
    for piece in pieces:
        tops = {flat.hole: flat.top_mm for flat in piece.flats}
        for hole in piece.holes:
            record = next(each for each in tenor.holes if each.id == hole.id)
            assert tops[hole.id] == pytest.approx(0.5 * record.bore_diameter_mm + record.chimney_mm, abs=1e-3)


def test_the_crook_goes_on_into_the_first_piece(tenor):
    drawing = drawn(tenor)
    crook, first = drawing.crook, drawing.pieces[0]
    assert crook.length_mm == tenor.bore.crook_end_mm + crook.inserted_mm
    assert radius_at(crook.inside, crook.length_mm) == pytest.approx(radius_at(first.inside, crook.inserted_mm))
    assert 2.0 * radius_at(crook.outside, crook.length_mm, before=True) < first.socket.diameter_mm


def test_every_post_has_a_foot_or_a_sentence(tenor, pieces):
    posts = [post for key in tenor.keys if key.axle for post in key.axle.posts if post.piece != 0]
    assert len(posts) == sum(len(piece.feet) + len(piece.left_out) for piece in pieces)
    assert any(piece.left_out for piece in pieces)


def test_the_outer_of_two_lines_crosses_where_they_do():
    assert outer(((0.0, 1.0), (10.0, 11.0)), ((0.0, 6.0), (10.0, 6.0))) == ((0.0, 6.0), (5.0, 6.0), (10.0, 11.0))
