"""The CAD kernel's calls: against closed formulas, quadrature by SciPy, and the text of the files it writes."""

import math
import re
import subprocess
import sys
from importlib.util import find_spec

import pytest
import scipy
from late import late

pytestmark = pytest.mark.skipif(not find_spec("OCP"), reason="the extra cad is not installed here")

UNIT = math.pi / 180.0


def radially(z, azimuth=0.0):
    """A frame whose axis leaves the body's axis at right angles."""
    return late.kernel.Frame((0.0, 0.0, z), (math.cos(azimuth * UNIT), math.sin(azimuth * UNIT), 0.0), (0.0, 0.0, 1.0))


def drill(z, azimuth, radius, reach=40.0):
    return late.kernel.revolved([(0, 0), (radius, 0), (radius, reach), (0, reach)], radially(z, azimuth))


PIPE = [(6, 0), (12, 0), (12, 80), (9, 80), (9, 100), (7, 100)]


def frustum(length, first, second):
    return math.pi * length / 3.0 * (first**2 + first * second + second**2)


def in_wall(radius, outside, bore):
    """Volume of a straight radial hole between a cylinder and a cylindrical bore, by adaptive quadrature."""

    def strip(v):
        return 2.0 * math.sqrt(radius**2 - v**2) * (math.sqrt(outside**2 - v**2) - math.sqrt(bore**2 - v**2))

    return 2.0 * scipy.integrate.quad(strip, 0.0, radius, epsabs=1e-10)[0]


def test_a_turned_profile_has_the_volume_of_its_frusta_whichever_way_it_turns():
    wanted = math.pi * (12**2 * 80 + 9**2 * 20) - frustum(100, 6, 7)
    for profile in (PIPE, PIPE[::-1]):
        pipe = late.kernel.revolved(profile)
        assert late.kernel.volume_mm3(pipe) == pytest.approx(wanted, rel=1e-9)
        assert late.kernel.valid(pipe)
        assert late.kernel.solids(pipe) == 1


def test_each_hole_is_a_handle_more():
    pipe = late.kernel.revolved(PIPE)
    assert late.kernel.euler_number(pipe) == 0
    assert late.kernel.euler_number(late.kernel.revolved([(0, 0), (5, 0), (0, 5)])) == 2  # a cone: a ball with an apex
    for holes in (1, 2, 3):
        drilled = late.kernel.cut(pipe, [drill(20.0 * n + 15.0, 50.0 * n, 3.0) for n in range(holes)])
        assert late.kernel.euler_number(drilled) == -2 * holes
        assert late.kernel.valid(drilled)
    through = late.kernel.cut(pipe, [late.kernel.revolved([(0, -40), (2, -40), (2, 40), (0, 40)], radially(40.0))])
    assert late.kernel.euler_number(through) == -4  # two mouths


def test_a_radial_hole_takes_what_quadrature_says():
    pipe = late.kernel.revolved([(6, 0), (12, 0), (12, 80), (6, 80)])
    for radius in (1.0, 3.5, 5.9, 6.0):
        drilled = late.kernel.cut(pipe, [drill(40.0, 30.0, radius)])
        gone = late.kernel.volume_mm3(pipe) - late.kernel.volume_mm3(drilled)
        assert gone == pytest.approx(in_wall(radius, 12.0, 6.0), rel=1e-7)


def test_what_is_fused_is_counted_once():
    body = late.kernel.revolved([(0, 0), (5, 0), (5, 10), (0, 10)])
    taller = late.kernel.revolved([(0, 5), (5, 5), (5, 15), (0, 15)])
    both = late.kernel.fused(body, [taller])
    assert late.kernel.solids(both) == 1
    assert late.kernel.volume_mm3(both) == pytest.approx(math.pi * 25 * 15, rel=1e-9)
    apart = late.kernel.fused(
        body, [late.kernel.revolved([(0, 0), (1, 0), (1, 1), (0, 1)], late.kernel.Frame((20.0, 0.0, 0.0)))]
    )
    assert late.kernel.solids(apart) == 2


def test_the_bounding_box_is_that_of_the_solid():
    low, high = late.kernel.bounding_box(late.kernel.cut(late.kernel.revolved(PIPE), [drill(30.0, 0.0, 3.0)]))
    assert low == pytest.approx((-12, -12, 0), abs=1e-5)
    assert high == pytest.approx((12, 12, 100), abs=1e-5)


def test_a_profile_that_makes_no_solid_is_refused():
    with pytest.raises(late.kernel.KernelError, match="no polygon"):
        late.kernel.revolved([(1, 1), (1, 1)])


@pytest.fixture
def drilled():
    """A pipe with a straight and an undercut hole."""
    undercut = late.kernel.revolved([(0, 0), (4, 0), (4, 7), (2, 12), (2, 30), (0, 30)], radially(60.0, -50.0))
    return late.kernel.cut(late.kernel.revolved(PIPE), [drill(30.0, 120.0, 3.125), undercut])


def test_holes_are_read_back_from_the_file_as_they_were_cut(drilled, tmp_path):
    late.kernel_files.write_step(tmp_path / "pipe.step", late.kernel_files.Part("pipe", drilled), "finished", "test")
    back = late.kernel_files.read_step(tmp_path / "pipe.step")
    assert late.kernel.solids(back) == 1
    assert late.kernel.valid(back)
    assert late.kernel.euler_number(back) == -4
    assert late.kernel.volume_mm3(back) == pytest.approx(late.kernel.volume_mm3(drilled), rel=1e-9)
    faces = late.kernel.round_faces(back)
    inside = [face for face in faces if face.hollow]
    assert sorted({round(radius, 6) for face in faces if not face.hollow for radius in face.radii_mm}) == [9, 12]
    (straight,) = [face for face in inside if face.radii_mm == pytest.approx((3.125, 3.125), abs=1e-9)]
    x, y, z = straight.along
    turned = math.degrees(math.atan2(y, x))
    assert min(abs(turned - 120.0), abs(turned + 60.0)) < 1e-9
    assert z == pytest.approx(0.0, abs=1e-12)
    assert straight.origin[2] == pytest.approx(30.0, abs=1e-9)
    (lean,) = [face for face in inside if face.radii_mm[0] != face.radii_mm[1] and abs(face.along[2]) < 0.5]
    assert sorted(lean.radii_mm) == pytest.approx([2.0, 4.0], abs=1e-6)
    assert abs(lean.ends_mm[1] - lean.ends_mm[0]) == pytest.approx(5.0, abs=1e-6)


def test_a_file_names_its_parts_and_where_they_stand(drilled, tmp_path):
    axle = late.kernel.segment((14.0, 0.0, 10.0), (14.0, 0.0, 50.0))
    pad, touch = (
        late.kernel.disc(late.kernel.Frame((13.0, 0.0, 30.0), (1.0, 0.0, 0.0)), 4.0),
        late.kernel.point((15.0, 1.0, 12.0)),
    )
    keys = late.kernel_files.Part("keys", None, [
        late.kernel_files.Part("axle of K1", axle), late.kernel_files.Part("pad of h1", pad),
        late.kernel_files.Part("touch of K1", touch),
    ])  # fmt: skip
    pieces = [
        late.kernel_files.Part("piece 1", drilled),
        late.kernel_files.Part("piece 2", late.kernel.revolved(PIPE), shift=(0.0, 0.0, 80.0)),
    ]
    whole = late.kernel_files.Part("Flöte ½", None, [*pieces, keys])
    late.kernel_files.write_step(tmp_path / "whole.step", whole, "finished sizes in mm", "test")
    text = (tmp_path / "whole.step").read_text(encoding="ascii")
    names = re.findall(r"PRODUCT\('([^']*)'", text)
    # Letters beyond ASCII: control directives of ISO 10303-21, 6.4.3
    assert names == [
        r"Fl\X4\000000F6\X0\te \X4\000000BD\X0" "\\", "piece 1", "piece 2", "keys", "axle of K1", "pad of h1",
        "touch of K1",
    ]  # fmt: skip
    assert "FILE_DESCRIPTION(('finished sizes in mm')" in text
    assert "AUTOMOTIVE_DESIGN { 1 0 10303 214" in text  # AP214's object identifier, ISO 10303-214
    low, high = late.kernel.bounding_box(late.kernel_files.read_step(tmp_path / "whole.step"))
    assert (low[2], high[2]) == pytest.approx((0, 180), abs=1e-4)


WRITES = """
import sys
from pathlib import Path
from optimizer.handoff.step.kernel import revolved
from optimizer.handoff.step.kernel_files import Part, write_step
for name in sys.argv[1:]:
    pipe = revolved([(6, 0), (12, 0), (12, 80), (6, 80)])
    parts = [Part("piece 1", pipe), Part("piece 2", pipe, shift=(0, 0, 80))]
    write_step(Path(name), Part("body", None, parts), "told", "test")
"""


def test_a_file_has_the_same_bytes_whenever_it_is_written_and_nothing_is_said(tmp_path, monkeypatch):
    # Six by another process, and six here, where the kernel has made other things before.
    files = [tmp_path / str(number) / "pipe.step" for number in range(12)]
    for file in files:
        file.parent.mkdir()
    command = [sys.executable, "-c", WRITES, *map(str, files[:6])]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    assert done.stdout == done.stderr == ""
    late.kernel.revolved(PIPE)
    monkeypatch.setattr(sys, "argv", ["-c", *map(str, files[6:])])
    exec(WRITES, {})
    assert (
        len({file.read_bytes() for file in files}) == 1
    )  # the kernel's own numbers go from one to two digits meanwhile


def test_a_file_that_is_no_step_file_is_refused(tmp_path):
    (tmp_path / "no.step").write_text("solid")
    with pytest.raises(late.kernel.KernelError, match="cannot be read back"):
        late.kernel_files.read_step(tmp_path / "no.step")
    with pytest.raises(late.kernel.KernelError, match="cannot write"):
        late.kernel_files.write_step(
            tmp_path / "none" / "pipe.step", late.kernel_files.Part("pipe", late.kernel.revolved(PIPE)), "told", "test"
        )
