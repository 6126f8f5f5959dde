"""What a layout weighs and where it balances: against frusta on paper, and against numerical integration."""

import math
from itertools import pairwise

import mpmath
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_records import PAD, hole, layout
from pieced import SHRUNK, jointed
from shelf import KEYED, changed, pipe

from optimizer import cautions
from optimizer.commands.cli import main
from optimizer.project.bends import Bend
from optimizer.project.loading import ProjectError
from optimizer.records.files import write_record
from optimizer.records.keys import AxleRecord, KeyRecord, PostRecord
from optimizer.records.layout import BoreTable
from optimizer.records.mass import instrument_mass, printed, wall
from optimizer.views.body_words import mass_words
from optimizer.views.layout_section import layout_section


def frustum(r0, r1, length):
    """Volume of a cone's frustum, and of its middle's place from the end of radius r0; any table of formulas: V = pi h
    (r0 r0 + r0 r1 + r1 r1) / 3, z = h (r0 r0 + 2 r0 r1 + 3 r1 r1) / 4 (r0 r0 + r0 r1 + r1 r1)."""
    squares = r0 * r0 + r0 * r1 + r1 * r1
    return math.pi * length / 3 * squares, length / 4 * (r0 * r0 + 2 * r0 * r1 + 3 * r1 * r1) / squares


def test_the_middle_of_a_cones_wall():
    # Bore 10 to 20 mm over 300 mm, wall 4: outer frustum of radii 9 and 14, 40 300 pi mm3 with its middle at
    # 75 (81 + 252 + 588) / 403 = 171.402 mm, less an inner one of 5 and 10, 17 500 pi at 75 (25 + 100 + 300) / 175
    # = 182.143: (40 300 x 171.402 - 17 500 x 182.143) / 22 800 = 163.158 mm.
    bore = BoreTable(points_mm=[(0, 10), (300, 20)], wall_mm=4, crook_end_mm=0)
    found = wall(bore, 0, 300, 4)
    (outer, far), (inner, near) = frustum(9, 14, 300), frustum(5, 10, 300)
    assert found.amount == pytest.approx(outer - inner, rel=1e-12)
    assert found.moment == pytest.approx(outer * far - inner * near, rel=1e-12)
    assert found.moment / found.amount == pytest.approx(163.158, abs=5e-4)


@given(
    st.lists(st.tuples(st.floats(1, 200), st.floats(3, 40)), min_size=1, max_size=6),
    st.floats(3, 40), st.floats(0.5, 8), st.floats(0, 1), st.floats(0, 1),
)  # fmt: skip
def test_any_wall_is_what_integration_makes_of_it(stretches, first, thick, one, other):
    ends = np.cumsum([0.0, *(length for length, _ in stretches)])
    points = list(zip(ends.tolist(), [first, *(diameter for _, diameter in stretches)], strict=True))
    low, high = sorted((one * ends[-1], other * ends[-1]))
    bore = BoreTable(points_mm=points, wall_mm=thick, crook_end_mm=0)

    def ring(place):
        inner = float(np.interp(float(place), *np.array(points).T)) / 2
        return math.pi * ((inner + thick) ** 2 - inner**2)

    knots = [low, *(place for place, _ in points if low < place < high), high]
    found = wall(bore, low, high, thick)
    for amount, power in ((found.amount, 0), (found.moment, 1)):
        parts = [mpmath.quad(lambda s, p=power: ring(s) * s**p, [a, b]) for a, b in pairwise(knots) if b > a]
        assert amount == pytest.approx(float(sum(parts)), rel=1e-9, abs=1e-6)


def test_a_hole_takes_its_own_moment_away():
    # Cylinder pi 5 (20 + 5) 300 = 37 500 pi mm3 about 150; a straight hole of 6 mm through 5 mm: 45 pi at 200.
    found = printed(layout().bore, [hole("g1", 200.0)], [])
    assert found.amount == pytest.approx(math.pi * (37500 - 45), rel=1e-12)
    assert found.moment == pytest.approx(math.pi * (37500 * 150 - 45 * 200), rel=1e-12)


def test_a_joint_weighs_where_it_is():
    record = jointed(SHRUNK)
    joint, plain = record.pieces[0].joint, [piece.model_copy(update={"joint": None}) for piece in record.pieces]
    with_it, without = (printed(record.bore, record.holes, pieces) for pieces in (record.pieces, plain))
    # What it has more than the plain wall sits evenly about its middle, but for the wall's own growth toward the bell.
    low, high = joint.at_mm - joint.length_mm / 2, joint.at_mm + joint.length_mm / 2
    own = wall(record.bore, low, high, record.bore.wall_mm)
    more = with_it.moment - without.moment + own.moment
    assert more == pytest.approx((with_it.amount - without.amount + own.amount) * joint.at_mm, rel=1e-9)


def test_crook_and_keys_weigh_as_they_are_said_to():
    # A crook of 100 mm, bore 20, wall 1: pi 21 x 100 mm3 x 8.5 / 1000 = 56.078 g about 50 mm. The body beyond: pi 5 x
    # 25 x 200 mm3 x 1.5 / 1000 = 117.810 g about 200. Two pads of one key touched at 150, over 220 and 290: 8 g at 185
    # and 8 at 220; a plate at 250: 8 g. (56.078 x 50 + 117.810 x 200 + 8 x 655) / 197.888 = 159.71 mm.
    text = KEYED.replace("wall_mm = 5.0", "wall_mm = 5.0\ncrook_wall_mm = 1.0\ncrook_density_g_per_cm3 = 8.5")
    project = pipe(text + "\n[printer]\ndensity_g_per_cm3 = 1.5\n[keywork]\nkey_mass_g = 8\n").project
    bore = BoreTable(points_mm=[(0, 20), (300, 20)], wall_mm=5, crook_end_mm=100)
    holes = [hole("g1", 220.0, by="key", pad=PAD), hole("g2", 290.0, by="key", pad=PAD)]
    holes.append(hole("g3", 250.0, cover="plate", pad=PAD))
    key = KeyRecord(id="k1", touch="L4", moved_by=[], opens=["g1"], closes=["g2"], touch_position_mm=150.0)
    found = instrument_mass(project, bore, holes, [key], [])
    gone = [math.pi / 4 * 36 * 5 * 1.5e-3 * place for place in (1.0, 1.0, 1.0)]
    assert found.parts_g == {"body": round(117.810 - sum(gone), 1), "crook": 56.1, "keys": 24.0}
    pulled = 56.078 * 50 + 117.810 * 200 + 8 * 655 - gone[0] * (220 + 290 + 250)
    assert found.mass_g == pytest.approx(197.888 - sum(gone), abs=0.06)
    assert found.balance_mm == pytest.approx(pulled / (197.888 - sum(gone)), abs=0.06)


@pytest.mark.parametrize(("length", "grams"), [(90.0, 0.0), (100.0, 0.0), (500.0, 42.73)])
def test_of_a_long_rod_what_is_beyond_a_hand_s_breadth_weighs_by_itself(length, grams):
    # A brass tube 5 over 3 mm: pi / 4 x 16 mm2 x 400 mm x 8.5 g/cm3 = 42.73 g, about the middle of the rod.
    posts = [PostRecord(position_mm=place, room_mm=None, nearest=None) for place in (20.0, 20.0 + length)]
    axle = AxleRecord(
        azimuth_deg=0.0, height_mm=8.0, length_mm=length, stock="tube", outer_diameter_mm=5.0, inner_diameter_mm=3.0,
        modulus_gpa=100.0, post_diameter_mm=5.0, posts=posts,
    )  # fmt: skip
    key = KeyRecord(id="k1", touch="L4", moved_by=[], opens=["g1"], closes=[], touch_position_mm=None)
    project, record = pipe(KEYED).project, layout(holes=[hole("g1", 220.0, by="key", pad=PAD)])
    plain, rodded = (
        instrument_mass(project, record.bore, record.holes, [each], [])
        for each in (key, key.model_copy(update={"axle": axle}))
    )
    assert rodded.mass_g - plain.mass_g == pytest.approx(grams, abs=0.11)
    pulled = plain.balance_mm * plain.mass_g + grams * (20.0 + length / 2.0)
    assert rodded.balance_mm == pytest.approx(pulled / (plain.mass_g + grams), abs=0.1)


def test_a_pad_that_several_keys_move_weighs_once():
    first = KeyRecord(id="k1", touch="L4", moved_by=[], opens=[], closes=["g1"], touch_position_mm=None)
    project, record = pipe(KEYED).project, layout(holes=[hole("g1", 220.0, by="key", pad=PAD)])
    keys = [first, first.model_copy(update={"id": "k2", "touch": "R4"})]
    assert instrument_mass(project, record.bore, record.holes, keys, []).parts_g["keys"] == 10.0


def test_a_key_that_nobody_knows_where_to_press_weighs_at_its_pad():
    key = KeyRecord(id="k1", touch="L4", moved_by=[], opens=["g1"], closes=[], touch_position_mm=None)
    project, record = pipe(KEYED).project, layout(holes=[hole("g1", 220.0, by="key", pad=PAD)])
    bare, keyed = (instrument_mass(project, record.bore, record.holes, keys, []) for keys in ([], [key]))
    assert keyed.mass_g == pytest.approx(bare.mass_g + 10.0, abs=0.06)
    moved = (bare.balance_mm * bare.mass_g + 220.0 * 10.0) / (bare.mass_g + 10.0)
    assert keyed.balance_mm == pytest.approx(moved, abs=0.1)


@pytest.mark.parametrize(("grams", "cautioned"), [(399.9, 0), (400.0, 0), (400.1, 1), (3000.0, 1)])
def test_a_heavy_instrument_is_cautioned_of_once(grams, cautioned, tmp_path, capsys):
    record = jointed(SHRUNK)
    mass = record.mass.model_copy(update={"mass_g": grams})
    record = record.model_copy(
        update={"mass": mass, "cautions": [*cautions.of_all(adult=False), *cautions.of_weight(grams, adult=False)]}
    )
    write_record(tmp_path / "heavy.json", record)
    assert main(["show", str(tmp_path / "heavy.json")]) == 0
    out = " ".join(capsys.readouterr().out.split())
    for said in (out, layout_section(record, True)):
        assert said.count("young player&#39;s thumb") + said.count("young player's thumb") == cautioned
        assert "balancing" in said


def test_a_solved_layout_carries_its_mass():
    record = jointed(SHRUNK)
    weight = printed(record.bore, record.holes, record.pieces).amount * 1.24e-3
    assert record.mass.parts_g == {"body": pytest.approx(weight, abs=0.051), "crook": 0.0, "keys": 0.0}
    assert 0.0 < record.mass.balance_mm < record.bore.points_mm[-1][0]
    assert record.mass.left_out in mass_words(record)
    assert mass_words(record.model_copy(update={"mass": None})) == ""


def test_densities_are_those_of_solids():
    with pytest.raises(ProjectError, match=r"printer\.density_g_per_cm3: must be at most 25"):
        pipe(changed("[holes]", "[printer]\ndensity_g_per_cm3 = 1240\n\n[holes]"))


@pytest.mark.parametrize(("grams", "adult", "cautioned"), [(600, True, 0), (801, True, 1), (600, False, 1)])
def test_a_grown_players_thumb_carries_more(grams, adult, cautioned):
    assert len(cautions.of_weight(grams, adult)) == cautioned


def test_a_hand_known_to_be_grown_leaves_cautions_for_children_out():
    grown = [*cautions.of_all(adult=True), *cautions.of_hands(adult=True), *cautions.of_weight(900, adult=True)]
    assert not any("child" in line or "young" in line for line in grown)
    assert cautions.CHILD in cautions.of_all(adult=False)
    assert cautions.GROWTH in cautions.of_hands(adult=False)
    assert cautions.for_adult(cautions.of_all(adult=True))
    assert not cautions.for_adult(cautions.of_all(adult=False))
    assert not cautions.for_adult([])


def test_a_folded_body_balances_down_the_instrument():
    # Two equal tubes of 200 mm side by side, and between them a bend of 30 mm: the tubes' middles lie 100 mm down, the
    # bend's 200 + 60 / pi, the centroid of half a circle, by length 400 and 30 pi.
    bend = Bend(id="low", at_mm=200.0, radius_mm=30.0, toward_deg=90.0)
    end = 400.0 + 30.0 * np.pi
    bore = BoreTable(points_mm=[(0, 20), (end, 20)], wall_mm=4, crook_end_mm=0, bends=[bend])
    found = wall(bore, 0.0, end, 4)
    expected = (400.0 * 100.0 + 30.0 * np.pi * (200.0 + 60.0 / np.pi)) / end
    assert found.amount == pytest.approx(np.pi * 24.0 * 4.0 * end, rel=1e-12)
    assert found.moment / found.amount == pytest.approx(expected, abs=0.05)
