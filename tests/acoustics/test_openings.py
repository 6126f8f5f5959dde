"""Openings as they are made: formulas against own finite elements, published lengths, slits and limits."""

import json
import re
import subprocess
import sys

import numpy as np
import pytest
from places import REFERENCE, ROOT

from acoustics.air import air
from acoustics.duals import variables
from acoustics.openings import (
    flat_length,
    flat_pad_length,
    opening_friction,
    opening_lengths,
    saddle_length,
    saddle_pad_length,
)

RESULTS = json.loads((REFERENCE / "openings/openings.json").read_text(encoding="utf-8"))
NO_BODY = 1e9


def length(case):
    """Outer length [b] by the formulas, hole radius 1."""
    body, pad, gap = case.get("body_radius", NO_BODY), case["pad_radius"], case["pad_gap"]
    if case["kind"] == "flat":
        flat = (1.0, body, case["seat_width"], case["seat_top"])
        return float(flat_length(*flat) + flat_pad_length(*flat, pad, gap))
    if case["kind"] == "free":
        flat = (1.0, body, case["seat_width"], NO_BODY)
        return float(flat_length(*flat) + flat_pad_length(*flat, pad, gap))
    return float(saddle_length(1.0, body) + saddle_pad_length(1.0, body, pad, gap))


def clears(case):
    """A pad that has left a sunk flat by 0.15 b, which is what the formulas are for."""
    return not case["pad_gap"] or case["pad_gap"] + case.get("seat_top", 0.0) > 0.15


# Largest and rms miss [b] that acoustics.openings states: without pad, gap from 0.35, gap 0.2 to 0.35.
STATED = {
    "saddle": ((0.003, 0.0015), (0.009, 0.003), (0.016, 0.006)),
    "flat": ((0.007, 0.0025), (0.016, 0.005), (0.019, 0.008)),
}


@pytest.mark.parametrize("kind", STATED)
@pytest.mark.parametrize(("band", "least", "most"), [(0, 0.0, 0.0), (1, 0.35, 9.0), (2, 0.19, 0.35)])
def test_lengths_keep_to_finite_elements_as_stated(kind, band, least, most):
    # Own finite elements of Laplace's equation, good to 0.001 b, under low pads to 0.0025 b.
    kinds = {"saddle": ("saddle", "plane"), "flat": ("flat",)}[kind]
    cases = [case for name, case in RESULTS.items() if case["kind"] in kinds and "/" not in name and clears(case)]
    chosen = [case for case in cases if least <= case["pad_gap"] <= most]
    missed = np.array([length(case) - case["length"] for case in chosen])
    largest, rms = STATED[kind][band]
    assert missed.size >= 12
    assert np.abs(missed).max() <= largest
    assert np.sqrt(np.mean(missed**2)) <= rms


def test_the_finite_elements_meet_published_lengths():
    # Infinite flange, Nomura, Yamamura & Inawashiro 1960: 0.8216. Pipe ends with a rim and pads over them, another
    # computation: the first sections, the last the same in space.
    assert RESULTS["plane-00"]["length"] == pytest.approx(0.8216, abs=2e-4)
    rims = {entry["seat_width"]: entry["length"] for name, entry in RESULTS.items() if name.startswith("free-0")}
    for width, expected in ((0.05, 0.6387), (0.1, 0.6542), (0.2, 0.6761), (0.3, 0.6917), (0.5, 0.7135)):
        assert rims[width] == pytest.approx(expected, abs=2e-4)
    space = [RESULTS[f"space-0{i}"]["length"] for i in range(3)]
    assert space == pytest.approx([0.6542, 0.8216, 0.7037 + 1.071], abs=0.003)


# Hole flush in a round body, finite elements made elsewhere: hole and wall over bore radius, length/b within 0.0005.
FLUSH_HOLES = [
    (0.3, 0.25, 0.683), (0.5, 0.25, 0.610), (0.7, 0.25, 0.537),
    (0.3, 0.5, 0.705), (0.5, 0.5, 0.643), (0.7, 0.5, 0.581),
    (0.3, 1.0, 0.729), (0.5, 1.0, 0.682), (0.7, 1.0, 0.635), (0.9, 1.0, 0.590),
]  # fmt: skip
WIDEST = [(0.9, 0.5, 0.521, 0.0095), (0.9, 0.25, 0.465, 0.0155)]


@pytest.mark.parametrize(("delta", "wall", "expected"), FLUSH_HOLES)
def test_a_saddle_has_the_length_of_other_computations(delta, wall, expected):
    # Theirs is what a whole side branch of a bore leaves after its inner length, good to 0.005 b.
    assert float(saddle_length(delta, 1.0 + wall)) / delta == pytest.approx(expected, abs=0.008)


@pytest.mark.parametrize(("delta", "wall", "expected", "missed"), WIDEST)
def test_so_it_has_nearly_at_the_end_of_its_range(delta, wall, expected, missed):
    # b/R 0.6, and 0.72, which is beyond 0.7: there the nearly bare rim of a wide hole in a thin wall takes part.
    assert float(saddle_length(delta, 1.0 + wall)) / delta == pytest.approx(expected, abs=missed)


def test_a_pad_over_a_free_end_is_nearly_that_of_a_high_seat():
    # Beyond the range of the fit: a seat without a body below. Three times the largest miss within it, where a wide pad
    # hangs low over a narrow rim.
    cases = [case for case in RESULTS.values() if case["kind"] == "free" and case["seat_width"] >= 0.1]
    assert len(cases) > 40
    assert max(abs(length(case) - case["length"]) for case in cases) < 0.06


# Extra length / b of a rigid disk over a pipe end with a rim, finite elements made elsewhere, disk 0.3 b thick.
GAPS = np.array([0.2, 0.3, 0.5, 0.75, 1.0, 1.5])
PADS = [
    (0.2, 1.2, (0.703, 0.438, 0.213, 0.103, 0.055, 0.019)),
    (0.2, 1.5, (0.856, 0.549, 0.278, 0.140, 0.078, 0.029)),
    (0.2, 2.0, (0.930, 0.617, 0.333, 0.181, 0.108, 0.045)),
    (0.4, 1.5, (1.071, 0.664, 0.326, 0.162, 0.090, 0.033)),
]


@pytest.mark.parametrize(("rim", "pad", "expected"), PADS)
def test_a_pad_over_a_pipe_end_is_that_of_other_computations(rim, pad, expected):
    # Beyond the fit, which has a body below. Within 12 % where the disk matters (gap up to b / 2), 0.03 b above that.
    found = flat_pad_length(np.ones(6), NO_BODY, rim, NO_BODY, pad, GAPS)
    near = GAPS <= 0.5
    assert found[near] == pytest.approx(np.array(expected)[near], rel=0.12)
    assert found[~near] == pytest.approx(np.array(expected)[~near], abs=0.03)


def test_without_body_or_pad_the_limits_are_flanges():
    assert float(saddle_length(4e-3, 4e5)) == pytest.approx(0.8216 * 4e-3, rel=1e-4)
    assert float(flat_length(4e-3, 4e5, 2e-3, 4e2)) == pytest.approx(0.7135 * 4e-3, rel=0.004)
    # A flat level with an endless plane is that plane, whatever its width; blended over 0.05 b.
    assert float(flat_length(4e-3, 4e5, 2e-3, 0.0)) == pytest.approx(0.8216 * 4e-3, rel=0.01)


def test_a_pad_far_away_or_absent_adds_nothing():
    for gap in (0.0, -1e-3):
        assert float(saddle_pad_length(4e-3, 12e-3, 6e-3, gap)) == 0.0
        assert float(flat_pad_length(4e-3, 12e-3, 2e-3, 1e-3, 6e-3, gap)) == 0.0
    assert float(saddle_pad_length(4e-3, 12e-3, 6e-3, 1.0)) < 1e-8
    assert float(flat_pad_length(4e-3, 12e-3, 2e-3, 1e-3, 6e-3, 1.0)) < 1e-8


def test_openings_scale_with_their_size():
    one = flat_length(2e-3, 9e-3, 1e-3, 0.5e-3) + flat_pad_length(2e-3, 9e-3, 1e-3, 0.5e-3, 3.2e-3, 1e-3)
    other = flat_length(4e-3, 18e-3, 2e-3, 1e-3) + flat_pad_length(4e-3, 18e-3, 2e-3, 1e-3, 6.4e-3, 2e-3)
    assert float(other) == pytest.approx(2.0 * float(one), rel=1e-12)


@pytest.mark.parametrize("top", np.linspace(-0.3, 1.5, 19))
def test_a_flat_passes_smoothly_from_sunk_to_raised_with_its_slopes(top):
    # Slopes by differences of the function itself, where no size stands at a corner.
    sizes = np.array([1.0, 2.9, 0.37, top, 1.6, 0.55])

    def whole(*at):
        return flat_length(*at[:4]) + flat_pad_length(*at)

    slope = whole(*variables(sizes)).slope
    differences = [(whole(*(sizes + step)) - whole(*(sizes - step))) / 2e-6 for step in 1e-6 * np.eye(6)]
    assert slope == pytest.approx(np.array(differences), abs=1e-6)


def test_less_room_to_flow_is_always_a_longer_length():
    # Rayleigh: what takes room away from the flow can only add inertance. All over the range of the fit.
    some = np.random.default_rng(5)
    ratio, rim, top = some.uniform([[0.05], [0.1], [0.0]], [[0.7], [0.8], [1.5]], (3, 5000))
    within = ratio * (1.0 + rim) < 1.0
    ratio, rim, top = ratio[within], rim[within], top[within]
    pad = 1.0 + rim + some.random(ratio.size) * (1.0 - rim)
    gap = 0.2 * 12.5 ** some.random(ratio.size)

    def flat(ratio, top, pad, gap):
        return flat_length(1.0, 1.0 / ratio, rim, top) + flat_pad_length(1.0, 1.0 / ratio, rim, top, pad, gap)

    def saddle(ratio, pad, gap):
        return saddle_length(1.0, 1.0 / ratio) + saddle_pad_length(1.0, 1.0 / ratio, pad, gap)

    now, over_saddle = flat(ratio, top, pad, gap), saddle(ratio, pad, gap)
    assert np.all(flat(ratio, top, pad, 0.99 * gap) > now)
    assert np.all(flat(ratio, top, 1.01 * pad, gap) > now)
    assert np.all(flat(ratio, top - 0.01, pad, gap) > now)
    assert np.all(flat(0.99 * ratio, top, pad, gap) > now)
    assert np.all(saddle(ratio, pad, 0.99 * gap) > over_saddle)
    assert np.all(saddle(ratio, 1.01 * pad, gap) > over_saddle)
    assert np.all(saddle(0.99 * ratio, pad, gap) > over_saddle)


def test_an_opening_is_a_flat_where_it_has_a_rim_and_else_a_saddle():
    b, body, top, pad, gap = np.full(2, 4e-3), np.full(2, 12e-3), np.full(2, 1e-3), np.full(2, 6e-3), np.full(2, 2e-3)
    rim = np.array([0.0, 2e-3])
    saddle = saddle_length(b, body) + saddle_pad_length(b, body, pad, gap)
    flat = flat_length(b, body, rim, top) + flat_pad_length(b, body, rim, top, pad, gap)
    assert sum(opening_lengths(b, body, rim, top, pad, gap)).tolist() == [saddle[0], flat[1]]


def test_every_size_of_either_kind_has_its_slope():
    # By differences of the function itself, at random places of the range of the fit.
    dice = np.random.default_rng(11)
    for number in range(40):
        b = dice.uniform(1.0, 8.0)
        rim = b * dice.uniform(0.1, 0.5) * (number % 2)
        pad, gap = (b + rim) * dice.uniform(1.1, 1.3), b * dice.uniform(0.2, 2.5) * (number % 3 > 0)
        sizes = np.array([b, b / dice.uniform(0.05, 0.65), rim, b * dice.uniform(-0.15, 1.5), pad, gap])
        slope = sum(opening_lengths(*variables(sizes))).slope
        moves = [np.where(sizes == 0.0, 0.0, step) for step in 1e-6 * np.eye(6)]  # what there is not stays away
        sides = [[sum(opening_lengths(*(sizes + sign * step))) for sign in (1, -1)] for step in moves]
        differences = [(ahead - behind) / 2e-6 for ahead, behind in sides]
        assert slope == pytest.approx(np.array(differences), abs=1e-6)


def test_no_size_without_a_pad_turns_a_slope_into_nothing():
    for found in (
        flat_pad_length(*variables([4e-3, 12e-3, 2e-3, 0.0, 0.0, 0.0])),
        saddle_pad_length(*variables([4e-3, 12e-3, 0.0, 0.0])),
    ):
        assert float(found.value) == 0.0
        assert np.all(found.slope == 0.0)


def test_friction_is_that_of_the_speed_along_the_walls():
    # Thin layers: resistance (rho omega mu / 2)^0.5 over the hole's area, times the mean square speed along the walls
    # from finite elements.
    f, rho, viscosity = 4e5, 1.2, 1.8e-5
    layer = np.sqrt(rho * np.pi * f * viscosity) / np.pi
    ratios = []
    for name, case in RESULTS.items():
        if "friction" not in case or not clears(case) or case["kind"] == "free" or "/" in name:
            continue
        bare = length({**case, "pad_radius": 0.0, "pad_gap": 0.0})
        here = air(20.0)._replace(viscosity=viscosity, rho=rho)
        found = opening_friction(f, 1.0, case["length"] - bare, case["pad_gap"], here)
        ratios.append(float(found.real) / (layer * case["friction"]))
    assert len(ratios) > 150
    assert np.sqrt(np.mean((np.array(ratios) - 1.0) ** 2)) < 0.12


def test_friction_in_a_narrow_slit_is_poiseuilles():
    # Parallel plates far closer than the boundary layer: pressure falls by 12 mu / gap^2 times the speed.
    f, viscosity, b, gap, extra = 20.0, 1.8e-5, 1e-3, 2e-5, 3e-2
    found = opening_friction(f, b, extra, gap, air(20.0)._replace(viscosity=viscosity, rho=1.2))
    assert float(found.real) == pytest.approx(0.8 * extra * 12.0 * viscosity / gap**2 / (np.pi * b**2), rel=0.02)


def test_the_picture_is_what_the_formulas_draw(tmp_path):
    # Another processor may round a hundredth of a millimetre otherwise.
    script = ROOT / "tests/reference/openings/picture.py"
    subprocess.run([sys.executable, script, tmp_path / "drawn.svg"], cwd=ROOT, check=True)
    drawn, kept = (path.read_text() for path in (tmp_path / "drawn.svg", ROOT / "results/openings.svg"))
    number = r"-?\d+\.?\d*"
    assert re.sub(number, "", drawn) == re.sub(number, "", kept)
    values = [np.array(re.findall(number, text), float) for text in (drawn, kept)]
    assert values[0] == pytest.approx(values[1], abs=0.011)


def test_friction_has_its_slopes_with_a_pad_and_without():
    def parts(b, extra, gap, theta):
        found = opening_friction(440.0, b, extra, gap, air(theta))
        return found.real, found.imag

    for gap in (0.0, 2e-4, 3e-3):
        sizes = np.array([4e-3, 1e-3 * (gap > 0.0), gap, 22.0])
        for part in (0, 1):
            slope = parts(*variables(sizes))[part].slope
            steps = np.array([1e-8, 1e-8, 1e-8 * (gap > 0.0), 1e-3])
            sides = [[parts(*(sizes + sign * row))[part] for sign in (1, -1)] for row in np.diag(steps)]
            differences = [(one - two) / (2.0 * step or 1.0) for (one, two), step in zip(sides, steps, strict=True)]
            assert slope == pytest.approx(np.array(differences), rel=1e-5, abs=1e-9 * np.max(np.abs(slope)))
