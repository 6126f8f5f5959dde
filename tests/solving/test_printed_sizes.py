"""Printed sizes of a record: finished ones, times one factor, and what a record keeps of a joint.

Print figures are common practice without a source; what is checked is that they are kept.
"""

import json

import numpy as np
import pytest
from pieced import PIECES, SHRUNK, jointed

from optimizer.records.layout import LayoutRecord
from optimizer.solving.real_resonances import predict


@pytest.fixture(scope="module")
def plain_and_shrunk():
    """One geometry, for a printer without and with shrinkage."""
    return jointed(PIECES), jointed(SHRUNK)


def test_every_printed_size_is_a_finished_one_times_one_factor(plain_and_shrunk):
    record = plain_and_shrunk[1]
    printing, near = record.printing, {"abs": 6e-5}
    along, across = 1 / 0.98, 1 / 0.99
    assert (printing.factor_along, printing.factor_across) == pytest.approx((along, across), rel=1e-15)
    assert len(record.pieces) == 2
    holes = {hole.id: hole for hole in record.holes}
    for number, piece in enumerate(record.pieces):
        made = piece.to_print
        assert made.length_mm == pytest.approx(piece.length_mm * along, **near)
        assert made.length_mm == pytest.approx((piece.end_mm - piece.begin_mm) * along, **near)
        assert made.diameter_mm == pytest.approx(piece.diameter_mm * across, **near)
        for place, diameter in made.bore_points_mm:
            finished = np.interp(piece.begin_mm + place / along, *np.array(record.bore.points_mm).T)
            assert diameter == pytest.approx(finished * across, abs=2e-4)
        assert [hole.id for hole in made.holes] == piece.holes
        for hole in made.holes:
            nominal = holes[hole.id]
            assert hole.from_end_mm == pytest.approx((nominal.position_mm - piece.begin_mm) * along, **near)
            # 0.2 mm undersize is added after the factor.
            wide = nominal.diameter_mm
            assert hole.diameter_mm == pytest.approx((wide * along + 0.2, wide * across + 0.2), **near)
            assert hole.chimney_mm == pytest.approx(nominal.chimney_mm * across, **near)
        if piece.joint:
            joint, socket = piece.joint, record.pieces[number + 1].to_print.socket
            assert made.tenon.length_mm == pytest.approx(joint.length_mm * along, **near)
            assert made.tenon.diameter_mm == pytest.approx(joint.tenon_diameter_mm * across, **near)
            assert made.tenon.groove_diameter_mm == pytest.approx(joint.groove_diameter_mm * across, **near)
            assert made.tenon.groove_width_mm == pytest.approx(joint.groove_width_mm * along, **near)
            assert socket.depth_mm == pytest.approx(joint.length_mm * along, **near)
            assert socket.diameter_mm == pytest.approx(joint.socket_diameter_mm * across, **near)
            assert socket.outer_diameter_mm == pytest.approx(joint.socket_outer_diameter_mm * across, **near)


def test_shrinkage_changes_nothing_but_the_printed_sizes(plain_and_shrunk):
    def finished(record):
        data = record.model_dump(exclude={"printing"})
        for piece in data["pieces"]:
            del piece["to_print"]
        return data | {"margins_mm": {k: v for k, v in data["margins_mm"].items() if not k.startswith("piece_long")}}

    plain, shrunk = plain_and_shrunk
    assert finished(plain) == finished(shrunk)
    assert plain.pieces[0].to_print != shrunk.pieces[0].to_print
    # Bed 294 x 0.98: 5.88 mm less to spare.
    assert plain.margins_mm["piece_long.1"] - shrunk.margins_mm["piece_long.1"] == pytest.approx(5.88, abs=1e-3)


def test_predictions_come_from_finished_sizes(plain_and_shrunk):
    record = plain_and_shrunk[1]
    swollen = json.loads(record.model_dump_json())
    swollen["printing"]["factor_along"] = 2.0
    swollen["pieces"] = []
    again = predict(LayoutRecord.model_validate(swollen), record.reference.air, 1.0)
    assert [note.cents for note in again] == pytest.approx([note.cents for note in record.notes], abs=1e-9)


def test_a_joint_is_recorded_with_all_that_is_drawn(plain_and_shrunk):
    # Cord 1.5 squeezed by 20 % fills 1.2 mm, of which 0.2 is clearance: grooves 1.0 deep, 1.4 x 1.5 = 2.1 wide, and
    # 2 mm of the tenon's 3 left under them.
    joint = plain_and_shrunk[0].pieces[0].joint
    assert (joint.grooves, joint.groove_depth_mm, joint.groove_width_mm) == (2, 1.0, 2.1)
    assert joint.groove_diameter_mm == pytest.approx(joint.tenon_diameter_mm - 2.0, abs=1e-9)
    assert joint.groove_wall_mm == pytest.approx(2.0, abs=0.006)
    assert joint.tenon_wall_mm >= 3.0 - 1e-9
    assert joint.socket_diameter_mm == pytest.approx(joint.tenon_diameter_mm + 0.4, abs=1e-9)
    assert joint.socket_outer_diameter_mm >= joint.socket_diameter_mm + 6.0 - 0.011
    assert joint.length_mm >= 0.8 * joint.tenon_diameter_mm - 0.02
    assert joint.keep_out_mm == pytest.approx((225 - joint.length_mm / 2 - 5, 225 + joint.length_mm / 2 + 5), abs=1e-3)
    assert joint.ring_mm == pytest.approx((joint.socket_outer_diameter_mm - joint.body_diameter_mm) / 2, abs=1e-3)


def test_a_layout_file_without_joints_still_reads(plain_and_shrunk):
    data = json.loads(plain_and_shrunk[0].model_dump_json())
    del data["printing"]
    for piece in data["pieces"]:
        for name in ("begin_mm", "end_mm", "diameter_mm", "joint", "locked", "to_print"):
            del piece[name]
    record = LayoutRecord.model_validate(data)
    assert record.printing is None
    assert record.pieces[0].joint is None
