"""Tables of every figure, read back from CSV and held against the record they come from."""

import csv
import io
import re

import pytest
from places import CONFIGS

from optimizer.handoff.lists.tables import csv_text, parameter_tables, parameters_csv, placed
from optimizer.handoff.shapes.drawing import drawn, sizing_of
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord


@pytest.fixture(scope="module")
def tenor():
    return read_record(CONFIGS / "prototypes" / "lantern-tenor.json", LayoutRecord)


@pytest.fixture(scope="module")
def tables(tenor):
    return parameter_tables(drawn(tenor), tenor)


def rows_of(table):
    return list(csv.DictReader(io.StringIO(csv_text(table))))


def test_every_hole_reads_back_as_the_record_has_it(tenor, tables):
    rows = {row["hole"]: row for row in rows_of(tables["holes"])}
    begins = {0: 0.0} | {number: piece.begin_mm for number, piece in enumerate(tenor.pieces, start=1)}
    assert rows.keys() == {hole.id for hole in tenor.holes}
    for hole in tenor.holes:
        row = rows[hole.id]
        assert begins[int(row["piece"])] + float(row["z_mm"]) == pytest.approx(hole.position_mm, abs=2e-4)
        assert float(row["azimuth_deg"]) == hole.azimuth_deg
        assert float(row["bore_along_mm"]) == float(row["bore_around_mm"]) == pytest.approx(hole.diameter_mm, abs=1e-4)
        assert float(row["top_along_mm"]) == pytest.approx(hole.top_diameter_mm, abs=1e-4)
        if int(row["piece"]):
            assert hole.id in tenor.pieces[int(row["piece"]) - 1].holes
            height = float(row["top_height_mm"]) - float(row["crown_height_mm"])
            assert height == pytest.approx(hole.chimney_mm, abs=2e-4)


def test_bore_reads_back_along_the_whole_body(tenor, tables):
    for row in rows_of(tables["inside"]):
        begin = tenor.pieces[int(row["piece"]) - 1].begin_mm if int(row["piece"]) else 0.0
        place = begin + float(row["z_mm"])
        if not begin or place >= begin + 30.0:  # beyond socket and receiver
            bore = tenor.bore.body_diameter_mm(place) - 2.0 * tenor.bore.wall_mm
            assert float(row["diameter_mm"]) == pytest.approx(bore, abs=1e-3)


def test_seats_joints_and_posts_read_back_as_the_record_has_them(tenor, tables):
    seats = {row["hole"]: float(row["diameter_mm"]) for row in rows_of(tables["seats"])}
    for hole in tenor.holes:
        if hole.seat is not None and hole.id in seats:
            assert seats[hole.id] == pytest.approx(hole.seat.outer_diameter_mm, abs=1e-3)
    joints = rows_of(tables["joints"])
    tenons = [row for row in joints if row["part"] == "tenon"]
    for row, piece in zip(tenons, tenor.pieces, strict=False):
        assert float(row["diameter_mm"]) == pytest.approx(piece.joint.tenon_diameter_mm)
        assert float(row["length_mm"]) == pytest.approx(piece.joint.length_mm)
    posts = rows_of(tables["posts"])
    wanted = [(key.id, post, key.axle) for key in tenor.keys if key.axle for post in key.axle.posts]
    for row, (key, post, axle) in zip(posts, wanted, strict=True):
        begin = tenor.pieces[int(row["piece"]) - 1].begin_mm if int(row["piece"]) else 0.0
        assert row["key"] == key
        assert begin + float(row["z_mm"]) == pytest.approx(post.position_mm, abs=1e-3)
        assert float(row["azimuth_deg"]) == axle.azimuth_deg
        assert float(row["axle_above_body_mm"]) == axle.height_mm


def test_keys_and_levers_read_back_as_the_record_has_them(tenor, tables):
    for row, key in zip(rows_of(tables["keys"]), tenor.keys, strict=True):
        assert (row["key"], row["finger"], row["opens"].split()) == (key.id, key.touch, key.opens)
        assert (row["azimuth_deg"] == "") == (key.touch_azimuth_deg is None)
        assert row["axle_length_mm"] == ("" if key.axle is None else f"{key.axle.length_mm:.4f}")
    levers = [(key.id, lever.hole, lever.pad_arm_mm) for key in tenor.keys for lever in key.levers]
    assert [(row["key"], row["hole"], float(row["pad_arm_mm"])) for row in rows_of(tables["levers"])] == levers


def test_a_place_in_a_joint_lies_on_the_piece_with_the_socket(tenor):
    drawing, joint = drawn(tenor), tenor.pieces[0].joint
    assert placed(drawing, joint.at_mm - 0.4 * joint.length_mm).piece == 2
    assert placed(drawing, joint.at_mm - 0.6 * joint.length_mm).piece == 1
    assert placed(drawing, 10.0) == (0, 10.0)


def test_heads_have_units_and_figures_of_printed_pieces_are_enlarged(tenor, tables):
    made = parameter_tables(drawn(tenor, sizing_of(tenor, "printed")), tenor)
    factor = tenor.printing.factor_along
    for finished, printed in zip(rows_of(tables["holes"]), rows_of(made["holes"]), strict=True):
        if int(finished["piece"]):
            assert float(printed["z_mm"]) == pytest.approx(factor * float(finished["z_mm"]), abs=2e-4)
    heads = {head for table in tables.values() for head in csv_text(table).splitlines()[0].split(",")}
    plain = {
        "piece", "state", "stands_on", "factor_along", "factor_across", "hole", "kind", "part", "groove", "key", "post",
        "finger", "opens", "closes", "moved_by", "fitting",
    }  # fmt: skip
    assert all(head in plain or re.search(r"_(mm|deg)$", head) for head in heads)


def test_parameters_have_names_of_their_own_and_every_figure(tenor, tables):
    rows = list(csv.DictReader(io.StringIO(parameters_csv(tables))))
    names = [row["name"] for row in rows]
    assert len(set(names)) == len(names)
    assert all(re.fullmatch(r"[A-Za-z][A-Za-z0-9_]*", name) for name in names)
    values = {row["name"]: (float(row["value"]), row["unit"]) for row in rows}
    h05 = next(hole for hole in tenor.holes if hole.id == "h05")
    assert values["holes_3_h05_bore_along"] == (pytest.approx(h05.diameter_mm), "mm")
    assert values["posts_kCsharp_1_azimuth"][1] == "deg"
    figures = sum(value is not None and bool(column.unit) for table in tables.values() for row in table.rows
                  for value, column in zip(row, table.columns, strict=True))  # fmt: skip
    assert len(rows) == figures
