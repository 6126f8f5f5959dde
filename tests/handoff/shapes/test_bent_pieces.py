"""Pieces of a folded body: where their bends take them, against the body's own map; a bend's volume, by handbook."""

import math
from dataclasses import replace

import numpy as np
import pytest
from folded import BEND, FOLDED, SECOND, THIRD, solved
from made_records import layout
from shelf import pipe
from solid_cases import piece

from optimizer.geometry.fold import Fold
from optimizer.geometry.space import Places
from optimizer.handoff.meshes.laid import turn_of
from optimizer.handoff.meshes.mesh import COARSE, piece_mesh
from optimizer.handoff.meshes.mesh_checks import checked
from optimizer.handoff.page import said_of
from optimizer.handoff.shapes.bent import bends_of, bent, front_at, placed
from optimizer.handoff.shapes.drawing import drawn
from optimizer.handoff.shapes.parts import Part
from optimizer.handoff.shapes.shape import PieceBend
from optimizer.records.handoff import HandedPiece


@pytest.fixture(scope="module")
def record():
    made = layout()
    points = [(0.0, 20.0), (1500.0, 20.0)]
    bends = pipe(FOLDED).project.bends
    return made.model_copy(update={"bore": made.bore.model_copy(update={"points_mm": points, "bends": bends})})


@pytest.mark.parametrize(
    ("begin", "position", "azimuth"),
    [
        (100.0, 300.0, 50.0),
        (SECOND + 10.0, SECOND + 200.0, 50.0),  # a tube that runs up
        (400.0, 500.0 + BEND / 3.0, -70.0),  # within a bend
        (400.0, SECOND + 60.0, -70.0),  # beyond it
        (SECOND + 300.0, THIRD + 80.0, 130.0),  # from a tube that runs up, beyond the other bend
        (450.0, THIRD + 20.0, 200.0),  # beyond both
    ],
)
def test_a_piece_lies_where_its_places_do(record, begin, position, azimuth):
    fold = Fold(record.bore.bends)
    part = Part(1, begin, 1500.0, None, None, [])
    turn = fold.carried_azimuth(begin, position, math.radians(azimuth))
    straight = np.array([[14.0 * math.cos(turn), 14.0 * math.sin(turn), position - begin]])
    turned, shift = placed(fold, begin)
    found = (bent(straight, bends_of(record, part)) @ turned.T + shift)[0]
    there = fold.points(Places(*map(np.array, (position, math.radians(azimuth), 14.0))))
    assert found == pytest.approx([float(there.y), float(there.z), float(there.x)], abs=1e-9)


@pytest.mark.parametrize(("begin", "position"), [(100.0, 300.0), (400.0, SECOND + 60.0), (450.0, THIRD + 20.0)])
def test_the_front_of_a_piece_is_the_players(record, begin, position):
    bends = tuple(bend.model_copy(update={"toward_deg": bend.toward_deg - 35.0}) for bend in record.bore.bends)
    folded = record.model_copy(update={"bore": record.bore.model_copy(update={"bends": bends})})
    found = front_at(bends_of(folded, Part(1, begin, 1500.0, None, None, [])), position - begin)
    carried = Fold(bends).carried_azimuth(begin, position, 0.0)
    assert math.cos(math.radians(found) - carried) == pytest.approx(1.0)


def test_a_printed_bend_has_half_a_torus_of_wall():
    # A torus has the volume 2 pi^2 R r^2 (any handbook): of a bend, half of it, outside 14 mm less inside 10 mm, with
    # straight ends of 20 mm.
    end = 40.0 + 30.0 * math.pi
    bends = (PieceBend(20.0, 30.0, 25.0),)
    made = piece(((0.0, 14.0), (end, 14.0)), ((0.0, 10.0), (end, 10.0)))
    solid = replace(made, bends=bends)
    found = checked(solid, piece_mesh(solid), None)
    assert found.problems == []
    expected = (14.0**2 - 10.0**2) * (math.pi**2 * 30.0 + math.pi * 40.0)
    assert found.surface.volume_mm3 == pytest.approx(expected, rel=1e-4)
    assert found.surface.box_mm[2] == pytest.approx(20.0 + 30.0 + 14.0, abs=0.01)


def test_a_piece_with_a_bend_stands_on_its_longer_leg_with_its_bend_up():
    # The first piece has 500 mm before its bend and far less after it; the second one's is turned for the longer leg to
    # be the one after it.
    record = solved()
    first, second, third = drawn(record).pieces
    assert (first.down, second.down, third.down) == ("reed", "reed", "bell")
    low, high = record.bore.bends
    sooner = high.model_copy(update={"at_mm": high.at_mm - 300.0})
    bore = record.bore.model_copy(update={"bends": [low, sooner]})
    turned = drawn(record.model_copy(update={"bore": bore, "holes": [], "keys": [], "fittings": []})).pieces[1]
    assert turned.down == "bell"
    for made in (first, second, turned):
        assert np.array_equal(turn_of(made, None), np.eye(3))
        top = piece_mesh(made, COARSE).corners[:, 2].max()
        assert top == pytest.approx(made.bends[0].z_mm + 30.0 + 14.0, abs=0.6)  # so coarse is the mesh
    assert said_of(_handed(first), first.bends)[1] == (
        f"Its bend is up, and its bell end hangs {500.0 - (first.length_mm - SECOND):.2f} mm above the bed: let the "
        "slicer hold it up."
    )
    twice = said_of(_handed(first), (*first.bends, PieceBend(600.0, 30.0, 90.0)))
    assert twice[0].endswith("print it with its reed end down, and let the slicer hold up what hangs.")
    assert len(twice) == 1


def _handed(made):
    return HandedPiece(
        number=1, length_mm=made.length_mm, widest_mm=28.0, down=made.down, locked=False, left_out=[],
    )  # fmt: skip
