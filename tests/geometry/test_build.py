"""Each stretch of a bore errs by itself: against ducts built with that stretch widened, and against random draws."""

import numpy as np
import pytest
from made_records import hole, layout
from pieced import PIECES, jointed

from acoustics.network import stacked
from acoustics.plain_duct import PlainDuct
from acoustics.resonances import batch_errors, chart_errors, note_errors, spectrum
from optimizer.geometry.build import WHOLE, Build, Stretch, build_of, is_lined, parted
from optimizer.geometry.deviations import STOCK_TUBE, by_deviation, deviations
from optimizer.project.uncertainty import Uncertainty
from optimizer.records.stock import ToolRecord

NOTHING = dict.fromkeys(Uncertainty.model_fields, 0.0)
BORES = {"staple_bore_mm": 0.03, "crook_bore_mm": 0.05, "bore_diameter_mm": 0.15}
CONE = [[0, 2.2], [52, 2.4], [900, 16.5]]
CYLINDER = [[0, 7.75], [660, 7.75]]
SHAPES = {
    "cone": (CONE, [("staple", 52.0), ("crook", 150.0), ("bore", 370.0), ("bore", 620.0), ("bore", np.inf)]),
    "cylinder": (CYLINDER, [("bore", 210.0), ("bore", 430.0), ("bore", np.inf)]),
}
KINDS = {"staple": "staple_bore_mm", "crook": "crook_bore_mm", "bore": "bore_diameter_mm"}
OPEN = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]])


def made(shape):
    """Bore points [mm], how they are put together."""
    points, ends = SHAPES[shape]
    stretches = tuple(Stretch(f"{word} {number}", KINDS[word], end) for number, (word, end) in enumerate(ends))
    return points, Build(stretches, ("g1", "g2"), (False, False))


def drawn(points, build, wider_mm):
    """A duct as it would be drawn with each stretch so much wider in diameter [mm], two points at each end; chimneys
    and the wall at the bell stay, as their sizes err by themselves."""
    places, radii = np.array(points, float).T
    found, begin = [], 0.0
    for stretch, wider in zip(build.stretches, wider_mm, strict=True):
        end = min(stretch.end_mm, places[-1])
        inside = places[(places > begin) & (places < end)]
        ends = np.concatenate([[begin], inside, [end]])
        found += [[place, np.interp(place, places, radii) + 0.5 * wider] for place in ends]
        begin = end
    outer = [[place, radius + 4.0] for place, radius in points]
    length = places[-1]
    holes = [{"x": share * length, "r": r, "state": "open", "chimney": 4.0} for share, r in ((0.9, 5.0), (0.68, 4.0))]
    return PlainDuct(bore=found, outer=outer, holes=holes).duct._replace(end_wall=np.asarray(4e-3))


def plain(points):
    """The duct as drawn in one."""
    return drawn(points, Build(WHOLE), [0.0])


def resonances(duct, f):
    """Cents of each fingering's resonance above f (N,), by steps that close in on it."""
    cents = np.zeros(len(f))
    for _ in range(4):
        cents = cents + chart_errors(duct, OPEN, f * 2.0 ** (cents / 1200.0))
    return cents


def second(points):
    """The second resonance of each fingering (N,) [Hz]."""
    return np.array([float(found.frequency[1]) for found in spectrum(plain(points), OPEN, 50.0, 1500.0)])


@pytest.fixture(scope="module", params=SHAPES)
def case(request):
    points, build = made(request.param)
    f = second(points)
    return points, build, f


def slopes(points, build, f, stated):
    """What one standard deviation of each stretch brings to each note (N, S) [cents], by slopes."""
    duct = parted(plain(points), build)
    may = deviations(duct, stated, build)
    by = by_deviation(note_errors(duct, OPEN, f).slope, may)
    return by[:, [may.names.index(stretch.name) for stretch in build.stretches]]


def test_a_duct_parted_sounds_as_it_did(case):
    # A cut more in the chain: the losses of a slice are those of its middle (`bore`: below 0.03 cent).
    points, build, f = case
    duct = plain(points)
    assert chart_errors(parted(duct, build), OPEN, f) == pytest.approx(chart_errors(duct, OPEN, f), abs=0.03)


def test_a_stretch_wider_by_slopes_is_that_of_two_ducts_drawn_otherwise(case):
    # Central difference of resonances of ducts drawn anew, one stretch 0.1 mm wider and narrower, steps and all: within
    # 0.5 % of the greatest, a step of that height adding next to nothing.
    points, build, f = case
    found = slopes(points, build, f, Uncertainty(**NOTHING | dict.fromkeys(BORES, 0.1)))
    assert np.max(np.abs(found)) > 0.5
    for number in range(len(build.stretches)):
        wider = 0.1 * (np.arange(len(build.stretches)) == number)
        more, less = (resonances(drawn(points, build, sign * wider), f) for sign in (1.0, -1.0))
        assert found[:, number] == pytest.approx(0.5 * (more - less), abs=5e-3 * np.max(np.abs(found)))


def test_all_stretches_wider_together_are_the_whole_bore_wider(case):
    # Full correlation: slopes add, and their sum is that of a bore in one.
    points, build, f = case
    stated = Uncertainty(**NOTHING | dict.fromkeys(BORES, 0.1))
    apart, whole = slopes(points, build, f, stated), slopes(points, Build(WHOLE, *build[1:]), f, stated)[:, 0]
    assert np.sum(apart, axis=1) == pytest.approx(whole, rel=2e-3, abs=2e-3)
    assert np.min(np.abs(whole)) > 0.05
    assert np.max(np.sqrt(np.sum(apart**2, axis=1)) / np.sum(np.abs(apart), axis=1)) < 1.0


def test_the_spread_of_stretches_is_that_of_random_draws(case):
    # 400 ducts drawn by hand, resonances found anew; their standard deviation is good to 1 / sqrt(2 x 399) = 3.5 %.
    points, build, f = case
    found = slopes(points, build, f, Uncertainty(**NOTHING | BORES))
    sd = np.array([BORES[stretch.kind] for stretch in build.stretches])
    draws = np.random.default_rng(11).standard_normal((400, len(sd))) * sd
    ducts = stacked([drawn(points, build, row) for row in draws])
    cents = np.zeros((len(draws), len(f)))
    for _ in range(2):
        cents = cents + batch_errors(ducts, OPEN, f * 2.0 ** (cents / 1200.0))
    by_slopes = np.sqrt(np.sum(found**2, axis=1))
    assert np.min(by_slopes) > 0.3
    assert cents.std(axis=0, ddof=1) / by_slopes == pytest.approx(np.ones(len(f)), abs=3.0 / np.sqrt(2 * 399))


THUMB = hole("vT", 50.0, role="vent", by="LT")
"""A vent that the thumb pinches: drilled, as a finger closes it."""


def names_and_ends(build):
    return [(stretch.name, stretch.kind, stretch.end_mm) for stretch in build.stretches]


def test_pieces_meet_at_the_tip_of_the_tenon():
    # The upper piece's tenon reaches half a joint beyond the joint's middle, its bore with it.
    record = jointed(PIECES)
    joint = record.pieces[0].joint
    assert names_and_ends(build_of(record.bore, record.pieces, record.holes)) == [
        ("bore of piece 1", "bore_diameter_mm", pytest.approx(joint.at_mm + 0.5 * joint.length_mm)),
        ("bore of piece 2", "bore_diameter_mm", np.inf),
    ]


@pytest.mark.parametrize(
    ("staple", "crook", "expected"),
    [
        (0.0, 0.0, [("bore of the body", np.inf)]),
        (0.0, 80.0, [("bore of the crook", 80.0), ("bore of the body", np.inf)]),
        (30.0, 0.0, [("bore of the staple", 30.0), ("bore of the body", np.inf)]),
        (30.0, 30.0, [("bore of the staple", 30.0), ("bore of the body", np.inf)]),
        (30.0, 80.0, [("bore of the staple", 30.0), ("bore of the crook", 80.0), ("bore of the body", np.inf)]),
    ],
)
def test_staple_and_crook_are_told_apart_where_they_are_stated(staple, crook, expected):
    bore = layout().bore.model_copy(update={"staple_end_mm": staple, "crook_end_mm": crook})
    found = build_of(bore, [], [hole("g1", 220.0), hole("v1", 60.0, role="vent", by="key"), THUMB])
    assert [(stretch.name, stretch.end_mm) for stretch in found.stretches] == expected
    assert (found.holes, found.lined) == (("g1", "v1", "vT"), (False, True, False))


@pytest.mark.parametrize(
    ("by", "tool", "lined"),
    [("key", None, True), ("LT", None, False), ("key", "drill", False), ("LT", "tube", True), ("key", "made", True)],
)
def test_a_vent_is_lined_as_its_tool_says_else_under_a_key(by, tool, lined):
    made = tool and ToolRecord(kind=tool, size_mm=2.0, called=f"{tool} 2")
    assert is_lined(hole("v1", 60.0, by=by, role="vent", tool=made)) == lined


def test_a_tube_of_the_stock_is_as_sure_as_its_tolerance():
    # Anything within a = 0.06 mm either way is as likely: a standard deviation of a / sqrt(3), JCGM 100:2008, 4.3.7.
    tube = ToolRecord(kind="tube", size_mm=2.0, called="3 x 0.5", tolerance_mm=0.06)
    drill = ToolRecord(kind="drill", size_mm=6.0, called="6", tolerance_mm=0.06)
    holes = [hole("g1", 220.0, tool=drill), hole("v1", 60.0, role="vent", by="key", tool=tube),
             hole("v2", 90.0, role="vent", by="key")]  # fmt: skip
    build = build_of(layout().bore, [], holes)
    assert build.off_mm == (None, 0.06, None)
    duct = PlainDuct(
        bore=[[0, 4.0], [400, 8.0]], outer=[[0, 8.0], [400, 12.0]],
        holes=[{"x": at, "r": 1.0, "state": "open"} for at in (220, 60, 90)],
    ).duct  # fmt: skip
    may = deviations(duct, Uncertainty(hole_diameter_mm=0.1, vent_diameter_mm=0.03), build)
    rows = [may.names.index(f"diameter of {name}") for name in ("g1", "v1", "v2")]
    assert [may.kinds[row] for row in rows] == ["hole_diameter_mm", STOCK_TUBE, "vent_diameter_mm"]
    assert 2e3 * np.max(may.direction.holes.radius[rows], axis=1) == pytest.approx([0.1, 0.06 / 3**0.5, 0.03])


def test_two_points_at_a_step_are_parted_between_them():
    # A bore whose staple ends in a step has both points there already.
    stepped = [[0, 2.0], [50, 2.2], [50, 3.0], [400, 8.0]]
    build = Build((Stretch("staple", "staple_bore_mm", 50.0), Stretch("body", "bore_diameter_mm", np.inf)))
    duct = PlainDuct(bore=stepped, outer=[[0, 8.0], [400, 12.0]]).duct
    found = parted(duct, build)
    assert np.array_equal(found.bore.position, duct.bore.position)
    assert np.array_equal(found.slices, duct.slices)
    assert list(build.of_points(found)) == [0, 0, 1, 1]
