"""The scene of a page's viewer, unpacked as the page does, against the meshes that it was packed from."""

import base64

import numpy as np
import pytest
from late import late
from places import CONFIGS

from optimizer.handoff.meshes.scene import scene_of
from optimizer.handoff.shapes.drawing import drawn
from optimizer.handoff.shapes.volume import revolved_mm3, volume_mm3
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord


@pytest.fixture(scope="module")
def drawing():
    return drawn(read_record(CONFIGS / "prototypes" / "lantern-tenor.json", LayoutRecord))


def unpacked(scene):
    """Corners [mm] and triangles of each part."""
    words = np.frombuffer(base64.urlsafe_b64decode(scene.data), "<u2")
    at, found = 0, []
    for _, corners, triangles in scene.parts:
        places = words[at : at + 3 * corners].reshape(-1, 3) * scene.step_mm + scene.least_mm
        at += 3 * corners
        found.append((places, words[at : at + 3 * triangles].reshape(-1, 3)))
        at += 3 * triangles
    assert at == len(words)
    return found


def test_a_scene_has_the_crook_and_every_piece_in_its_place(drawing):
    scene = scene_of(drawing)
    assert [name for name, _, _ in scene.parts] == ["crook", "piece 1", "piece 2", "piece 3", "piece 4"]
    for piece, (corners, _) in zip(drawing.pieces, unpacked(scene)[1:], strict=True):
        ends = corners[:, 2].min(), corners[:, 2].max()
        assert ends == pytest.approx((piece.begin_mm, piece.begin_mm + piece.length_mm), abs=0.05)


def test_parts_of_a_scene_are_closed_with_their_holes_and_volume(drawing):
    crook, *pieces = [late.trimesh.Trimesh(*part, process=False) for part in unpacked(scene_of(drawing))]
    assert (crook.is_watertight, crook.euler_number) == (True, -2)
    plain = revolved_mm3(drawing.crook.outside) - revolved_mm3(drawing.crook.inside)
    assert crook.volume == pytest.approx(plain, rel=5e-3)
    for mesh, piece in zip(pieces, drawing.pieces, strict=True):
        assert (mesh.is_watertight, mesh.euler_number) == (True, -2 * len(piece.holes))
        assert mesh.volume == pytest.approx(volume_mm3(piece), rel=3e-3)


def test_a_scene_is_small(drawing):
    assert len(scene_of(drawing).data) < 130_000
