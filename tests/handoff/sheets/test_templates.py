"""Wrap templates against the developed cone, and against where holes lie in space."""

import math

import numpy as np
import pytest
from dxf_codes import entities
from made_records import hole, layout
from places import CONFIGS

from optimizer.handoff.shapes.drawing import drawn
from optimizer.handoff.sheets.dxf import dxf_text
from optimizer.handoff.sheets.plan import Line
from optimizer.handoff.sheets.templates import TAB_MM, stretches_of, templates
from optimizer.handoff.sheets.unrolled import PAPER_MM, Stretch
from optimizer.project.bends import Bend
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord


@pytest.fixture(scope="module")
def pieces():
    return drawn(read_record(CONFIGS / "prototypes" / "lantern-tenor.json", LayoutRecord))


CONES = [Stretch(0.0, 240.0, 10.0, 14.0), Stretch(30.0, 200.0, 16.0, 11.0)]


@pytest.mark.parametrize("cone", CONES, ids=["widening", "narrowing"])
def test_a_cone_unrolls_to_a_sector_of_a_ring(cone):
    # Developed cone: radii R / sin(alpha), opening 2 pi sin(alpha); a textbook formula, worked by hand here.
    slant = math.hypot(cone.to_mm - cone.from_mm, cone.to_radius_mm - cone.from_radius_mm)
    sine = abs(cone.to_radius_mm - cone.from_radius_mm) / slant
    side = 1.0 if cone.to_radius_mm > cone.from_radius_mm else -1.0
    apex = np.array([-side * cone.from_radius_mm / sine, 0.0])
    for place, radius in ((cone.from_mm, cone.from_radius_mm), (cone.to_mm, cone.to_radius_mm)):
        edge = np.array(cone.edge(place))
        assert np.hypot(*(edge - apex).T) == pytest.approx(radius / sine, rel=1e-12)
        start, end = edge[0] - apex, edge[-1] - apex
        opening = math.acos(start @ end / np.hypot(*start) / np.hypot(*end))
        assert opening == pytest.approx(2.0 * math.pi * sine, rel=1e-9)


def test_figures_of_one_cone():
    # 20 to 28 mm over 240 mm: radii 600.1 and 840.1 mm, opening 6.0 degrees, by hand.
    cone = CONES[0]
    reed, bell = (cone.edge(place) for place in (0.0, 240.0))
    assert cone.from_radius_mm / cone.sine == pytest.approx(600.1, abs=0.05)
    assert cone.to_radius_mm / cone.sine == pytest.approx(840.1, abs=0.05)
    assert 360.0 * cone.sine == pytest.approx(6.0, abs=0.01)
    assert math.dist(reed[0], bell[0]) == pytest.approx(math.hypot(240.0, 4.0), abs=1e-9)


def test_a_cylinder_unrolls_to_a_rectangle():
    tube = Stretch(10.0, 60.0, 12.0, 12.0)
    edges = np.array([tube.edge(10.0), tube.edge(60.0)])
    assert edges[:, :, 0].tolist() == [[0.0] * edges.shape[1], [50.0] * edges.shape[1]]
    assert edges[0, 0, 1] - edges[0, -1, 1] == pytest.approx(2.0 * math.pi * 12.0)


@pytest.mark.parametrize("stretch", [*CONES, Stretch(0.0, 100.0, 12.0, 12.0)])
def test_unrolling_keeps_lengths_on_the_surface(stretch):
    # A short way on the surface in space is as long on paper: steps of a tenth of a millimetre along and around.
    def in_space(place, azimuth):
        radius, turn = stretch.radius_mm(place), math.radians(azimuth)
        return np.array([place, radius * math.cos(turn), radius * math.sin(turn)])

    rng = np.random.default_rng(3)
    for place, azimuth in zip(rng.uniform(stretch.from_mm, stretch.to_mm, 50), rng.uniform(-170, 170, 50), strict=True):
        there = place + rng.uniform(-0.1, 0.1), azimuth + rng.uniform(-0.5, 0.5)
        straight = np.linalg.norm(in_space(place, azimuth) - in_space(*there))
        assert math.dist(stretch.flat(place, azimuth), stretch.flat(*there)) == pytest.approx(straight, rel=2e-5)


@pytest.mark.parametrize(("share", "wider"), [(0.5, 1.047), (0.7, 1.108)])
def test_a_hole_unrolls_wider_around_than_along(share, wider):
    # R asin(a / R) over a: 4.7 % at a / R = 0.5, 10.8 % at 0.7.
    tube = Stretch(0.0, 100.0, 10.0, 10.0)
    outline = np.array(tube.hole(50.0, 0.0, 20.0 * share))
    along, around = np.ptp(outline, axis=0)
    assert along == pytest.approx(20.0 * share)
    assert around / along == pytest.approx(wider, abs=5e-4)


def test_a_hole_lies_on_the_cylinder_that_a_drill_makes():
    cone = CONES[0]
    drill = cone.hole(120.0, 40.0, 9.0)
    centre = cone.flat(120.0, 40.0)
    # Back from paper to space, by the developed cone read the other way round.
    apex = np.array([-cone.from_radius_mm / cone.sine, 0.0])
    for x, y in drill:
        away = np.hypot(*(np.array([x, y]) - apex))
        turn = -math.asin(y / away) / cone.sine
        radius = away * cone.sine
        place = (radius - cone.from_radius_mm) / (cone.to_radius_mm - cone.from_radius_mm) * 240.0
        off = math.hypot(place - 120.0, radius * math.sin(turn - math.radians(40.0)))
        assert off == pytest.approx(4.5, abs=1e-9)
    assert np.mean(drill, axis=0) == pytest.approx(np.array(centre), abs=0.05)


def test_each_hole_of_a_demo_stands_on_one_template_where_the_record_has_it(pieces):
    made = templates(pieces)
    assert len(made) == len(pieces.pieces)
    for plan, piece in zip(made, pieces.pieces, strict=True):
        (stretch,) = stretches_of(piece)
        outlines = [shape for shape in plan.shapes if isinstance(shape, Line) and shape.layer == "holes"]
        assert len(outlines) == len(piece.holes)
        for drilled, outline in zip(piece.holes, outlines, strict=True):
            x, y = np.mean(outline.points, axis=0)
            wanted = stretch.flat(drilled.z_mm, drilled.azimuth_deg)
            assert (x, y) == pytest.approx(wanted, abs=0.03)
            away = (
                math.dist(wanted, (-stretch.from_radius_mm / stretch.sine, 0.0)) - stretch.from_radius_mm / stretch.sine
            )
            assert away * math.sqrt(1.0 - stretch.sine**2) == pytest.approx(drilled.z_mm - stretch.from_mm, abs=1e-9)


def test_a_hole_at_the_back_lies_on_both_edges_of_the_seam():
    thumb = hole("thumb", 150.0, azimuth_deg=180.0)
    (plan,) = templates(drawn(layout(holes=[thumb])))
    edges = next(shape for shape in plan.shapes if isinstance(shape, Line) and shape.layer == "outline")
    outlines = [shape for shape in plan.shapes if isinstance(shape, Line) and shape.layer == "holes"]
    middles = sorted(np.mean(outline.points, axis=0)[1] for outline in outlines)
    assert middles == pytest.approx([min(y for _, y in edges.points), max(y for _, y in edges.points)], abs=1e-9)


def test_paper_lies_half_its_thickness_further_out(pieces):
    piece = pieces.pieces[0]
    (stretch,) = stretches_of(piece)
    radii = dict(piece.outside)
    assert stretch.from_radius_mm - radii[stretch.from_mm] == pytest.approx(PAPER_MM / 2.0)


def test_the_template_as_a_file_is_the_sector(pieces):
    plan, piece = templates(pieces)[1], pieces.pieces[1]
    (stretch,) = stretches_of(piece)
    outline = next(each for each in entities(dxf_text(plan)) if each.layer == "outline")
    away = [math.dist(point, (-stretch.from_radius_mm / stretch.sine, 0.0)) for point in outline.points]
    slant = math.hypot(stretch.to_mm - stretch.from_mm, stretch.to_radius_mm - stretch.from_radius_mm)
    assert max(away) - min(away) == pytest.approx(slant, abs=1e-4)
    tab = plan.extent
    seam = min(y for _, y in outline.points)
    assert tab.bottom == pytest.approx(seam - TAB_MM, abs=0.5)


def test_beyond_a_bend_the_front_line_is_where_the_player_has_the_front():
    # A piece folded toward 40 degrees, 15 mm from axis to surface. Both holes at the front lie on the front line; on
    # the tube that runs up, laid with its lower end left, the player's right is a quarter of the way round above it.
    bends = [Bend(id="low", at_mm=500.0, radius_mm=30.0, toward_deg=40.0)]
    bore = layout().bore.model_copy(update={"points_mm": [(0.0, 20.0), (1100.0, 20.0)], "bends": bends})
    holes = [hole("down", 250.0), hole("up", 700.0), hole("right", 800.0, azimuth_deg=90.0)]
    first, second = templates(drawn(layout(holes=holes, bore=bore)))
    crosses = [shape.points for plan in (first, second) for shape in plan.shapes if shape.layer == "centres"]
    heights = [start[1] for start, end in crosses if start[1] == end[1]]
    assert heights == pytest.approx([0.0, 0.0, 0.5 * math.pi * (15.0 + 0.5 * PAPER_MM)], abs=1e-6)
