"""Test coupons of every demo, read back by trimesh."""

import io

import pytest
import trimesh
from places import CONFIGS

from optimizer.handoff.coupon.coupon_shape import coupon_of
from optimizer.handoff.meshes.slicer_files import slicer_files
from optimizer.project.loading import load_project
from optimizer.solving.pieces import printing_of

DEMOS = ("attic-reed", "cellar-bass", "lantern-tenor", "lantern-tenor-low-a", "meadow-pipe")


def meshes(coupon, printer):
    """Each piece's STL by its name, as trimesh reads it."""
    return {
        file.name: trimesh.load_mesh(io.BytesIO(file.content), file_type="stl")
        for file in slicer_files(coupon.drawing, printing_of(printer))
        if file.name.endswith("stl")
    }


@pytest.mark.parametrize("name", DEMOS)
def test_every_piece_is_one_closed_solid_with_the_holes_it_should_have(name):
    project = load_project(CONFIGS / f"{name}.toml").project
    coupon = coupon_of(project)
    found = meshes(coupon, project.printer)
    assert list(found) == ["pipe.stl", "sleeve.stl", "steps.stl"]
    holes = sum(part.what in ("hole", "seat") for part in coupon.parts)
    for (file, mesh), euler in zip(found.items(), (-2 * holes, 0, 0), strict=True):
        assert mesh.is_watertight, file
        assert (mesh.body_count, mesh.euler_number) == (1, euler), file
