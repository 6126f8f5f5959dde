"""Pieces of a folded body: where their bends take them, against the body's own map; a bend's volume, by handbook."""

import math
from dataclasses import replace

import numpy as np
import pytest
from folded import BEND, FOLDED, SECOND, THIRD
from made_records import layout
from shelf import pipe
from solid_cases import piece

from optimizer.geometry.fold import Fold
from optimizer.geometry.space import Places
from optimizer.handoff.meshes.mesh import piece_mesh
from optimizer.handoff.meshes.mesh_checks import checked
from optimizer.handoff.shapes.bent import bends_of, bent, front_at, placed
from optimizer.handoff.shapes.parts import Part
from optimizer.handoff.shapes.shape import PieceBend


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
