"""Every number of a duct has its slope: against central differences of the errors, on every tier."""

from functools import cache

import numpy as np
import pytest
from random_ducts import random_chart, random_duct

from acoustics import tiers
from acoustics.arrays import leaves, map_arrays
from acoustics.bends import Bends, Tubes
from acoustics.bore import Bore, slice_positions
from acoustics.duals import Dual
from acoustics.network import Climate, Duct, as_arrays, stacked
from acoustics.reed import Reed
from acoustics.resonances import batch_errors, moved_errors, note_errors
from acoustics.toneholes import Holes

MM = 1e-3
STEPS = {
    "climate.reed_degC": 1e-2, "climate.bell_degC": 1e-2, "climate.humidity": 1e-4, "climate.co2": 1e-5,
    "holes.azimuth": 2e-3, "holes.body_radius": 5e-6, "holes.rim_width": 5e-6, "holes.lid_absorption": 1e-5,
    "tubes.depth": 1e-4, "tubes.front": 1e-4, "tubes.right": 1e-4,
    "reed.volume": 1e-10, "reed.compliance_volume": 1e-11, "reed.resonance_hz": 1e-1, "reed.damping": 1e-4,
}  # fmt: skip
"""Half the difference taken, in the field's own unit; a micrometre where nothing stands."""

BORE = Bore(np.array([0, 90, 160, 310, 500]) * MM, np.array([4.0, 4.6, 4.9, 6.2, 8.0]) * MM)
STEPPED = Bore(np.array([0, 90, 90, 310, 500]) * MM, np.array([4.0, 4.6, 5.0, 6.2, 8.0]) * MM)
HOLES = Holes(*np.array([
    [230.0, 130.0, 390.0, 330.0], [0.3, -0.8, 2.9, -2.5], [3.1, 1.7, 4.2, 3.6], [3.4, 1.6, 4.0, 3.6],
    [4.0, 6.0, 5.0, 4.5], [11.0, 10.0, 13.0, 12.0], [1.2, 1.0, 1.5, 1.3], [5.5, 3.0, 7.0, 6.4], [2.1, 1.4, 3.2, 2.6],
    [0.2, 0.1, -0.1, 0.3], [0.02, 0.04, 0.05, 0.01],
]) * np.array([MM, 1, *[MM] * 8, 1])[:, None])  # fmt: skip
WHOLE = as_arrays(Duct(
    BORE, slice_positions(BORE), 0.47, 3.5 * MM, HOLES, Reed(0.9e-6, 4.1 * MM, 1.5e-7, 2400.0, 0.2),
    Climate(31.0, 21.0, 0.8, 0.03, 0.21),
))  # fmt: skip
LUMPED = WHOLE._replace(
    bore=STEPPED,
    slices=slice_positions(STEPPED),
    reed=WHOLE.reed._replace(cavity_radius=np.asarray(np.inf)),
    climate=WHOLE.climate._replace(warming_length=np.asarray(np.inf)),
)
SADDLES = WHOLE._replace(holes=HOLES._replace(rim_width=np.zeros(4)))
FOLDED = as_arrays(WHOLE._replace(
    bends=Bends(*(np.array([row]) * MM for row in (90.0, 160.0, 15.0))),
    tubes=Tubes(*map(np.array, ((0.0, 0.16), (0.0, 0.09), (1.0, -1.0), (0.0, 0.01), (0.0, 0.03)))),
))  # fmt: skip
DUCTS = {"whole": WHOLE, "lumped": LUMPED, "saddles": SADDLES, "folded": FOLDED}
OPENNESS = np.array([[0, 0, 0, 0], [0, 0, 1, 0], [1, 0, 1, 1], [0, 1, 0.4, 1], [0.3, 0, 0, 0]], float)
TARGET = np.array([155.0, 180.0, 260.0, 410.0, 230.0])


def named(record, before="") -> dict[str, np.ndarray]:
    """Fields of nested tuples by name, such as `holes.radius`."""
    found = {}
    for name, value in record._asdict().items():
        found |= named(value, f"{before}{name}.") if isinstance(value, tuple) else {before + name: value}
    return found


def moved(duct, field, place, step) -> Duct:
    """The duct with one number changed."""
    names = iter(named(duct))

    def change(value):
        value = np.array(value)
        if next(names) == field:
            value[place] += step
        return value

    return map_arrays(change, duct)


def differences(duct, field, errors_of=batch_errors) -> np.ndarray:
    """Slopes of the errors (N, ...) by a field, by central differences."""
    shape, step = np.shape(named(duct)[field]), STEPS.get(field, 1e-6)
    pairs = [moved(duct, field, place, sign * step) for place in np.ndindex(shape) for sign in (1.0, -1.0)]
    errors = errors_of(stacked(pairs), OPENNESS, TARGET)
    return ((errors[::2] - errors[1::2]) / (2.0 * step)).T.reshape(len(TARGET), *shape)


@cache
def slopes_by(tier, name, interaction=True) -> dict[str, np.ndarray]:
    """Slopes by every number of a duct of `DUCTS`, as a tier has them."""
    assert tiers.in_use() == ("numpy" if tier == "numpy" else f"kernel-{tier}")
    return named(note_errors(DUCTS[name], OPENNESS, TARGET, interaction).slope)


def compare(tier, name, field) -> None:
    # Truncation of order (step / size)^2, at most 1e-6; rounding of the errors to 1e-9 cents.
    found, expected = slopes_by(tier, name)[field], differences(DUCTS[name], field)
    if field == "slices":  # the first stands at 0, where it is clipped: its slope there is convention
        found, expected = found[:, 1:], expected[:, 1:]
    assert np.any(expected != 0.0)
    size, noise = np.max(np.abs(expected)), 1e-8 / STEPS.get(field, 1e-6)
    assert np.max(np.abs(found - expected)) < 2e-5 * size + noise
    assert 2e-5 * size + noise < 1e-2 * size


@pytest.mark.parametrize("field", [name for name, value in named(WHOLE).items() if np.size(value)])
def test_every_number_of_a_duct_has_its_slope(tier, field):
    compare(tier, "whole", field)


@pytest.mark.parametrize("field", ["radius", "top_radius", "chimney_height", "body_radius", "pad_radius", "pad_gap"])
def test_so_it_has_where_holes_are_drilled_into_the_round_body(tier, field):
    compare(tier, "saddles", f"holes.{field}")
    assert np.all(slopes_by(tier, "saddles")["holes.rim_width"] == 0.0)


@pytest.mark.parametrize("field", ["reed.volume", "reed.compliance_volume", "reed.damping", "bore.radius",
                                   "climate.reed_degC", "climate.bell_degC", "climate.humidity"])  # fmt: skip
def test_so_it_has_with_a_step_a_cavity_without_length_and_air_that_warms_evenly(tier, field):
    compare(tier, "lumped", field)


def test_a_step_moves_with_its_slices(tier):
    # Alone, one of its two points would make a steep cone of it; both, with the slices there, are a step elsewhere.
    def stepped(place, slope=None):
        position, slices = (np.array(row) for row in (LUMPED.bore.position, LUMPED.slices))
        at = [row == 90 * MM for row in (position, slices)]
        assert [np.count_nonzero(row) for row in at] == [2, 1]
        position[at[0]] = slices[at[1]] = place
        if slope is not None:
            position, slices = (Dual(row, slope * here[None]) for row, here in zip((position, slices), at, strict=True))
        return LUMPED._replace(bore=LUMPED.bore._replace(position=position), slices=slices)

    ahead, behind = batch_errors(stacked([stepped(90 * MM + 1e-6), stepped(90 * MM - 1e-6)]), OPENNESS, TARGET)
    expected = (ahead - behind) / 2e-6
    assert np.max(np.abs(expected)) > 10.0
    found = moved_errors(stepped(90 * MM, 1.0), OPENNESS, TARGET).slope[0]
    assert found == pytest.approx(expected, rel=1e-4, abs=1e-5 * np.max(np.abs(expected)))


@pytest.mark.parametrize("field", ["end_position", "end_wall", "bore.radius", "reed.volume", "climate.bell_degC",
                                   *(f"holes.{name}" for name in Holes._fields if "lid" not in name)])  # fmt: skip
def test_what_interaction_adds_has_its_slope(tier, field):
    compare_added(tier, "whole", field)


@pytest.mark.parametrize("field", ["tubes.depth", "tubes.front", "tubes.right", "holes.position", "holes.azimuth",
                                   "holes.body_radius", "end_position"])  # fmt: skip
def test_so_it_has_on_a_folded_body(tier, field):
    compare_added(tier, "folded", field)


@pytest.mark.parametrize("field", ["bends.radius", "bore.radius"])
def test_so_has_a_bend(tier, field):
    compare(tier, "folded", field)


def compare_added(tier, name, field) -> None:
    # A hundredth of the whole, which would hide a mistake in it: compared by itself.
    def added(ducts, openness, target):
        return batch_errors(ducts, openness, target) - batch_errors(ducts, openness, target, interaction=False)

    found = slopes_by(tier, name)[field] - slopes_by(tier, name, False)[field]
    expected = differences(DUCTS[name], field, added)
    size, noise = np.max(np.abs(expected)), 1e-8 / STEPS.get(field, 1e-6)
    assert np.max(np.abs(found - expected)) < 1e-4 * size + noise
    assert noise < 1e-2 * size


def test_infinite_numbers_have_no_slope(tier):
    slope = note_errors(LUMPED, OPENNESS, TARGET).slope
    assert np.all(slope.reed.cavity_radius == 0.0)
    assert np.all(slope.climate.warming_length == 0.0)


def test_slopes_by_other_numbers_follow_the_chain_rule(tier):
    # A duct some of whose fields move with two numbers: a stretch of everything along it, and a warming of all air.
    def along(value, rate):
        return Dual(value, np.stack([rate, np.zeros_like(rate)]))

    def warmed(value):
        return Dual(value, np.array([0.0, 1.0]))

    holes, climate = WHOLE.holes, WHOLE.climate
    moving = WHOLE._replace(
        end_position=along(WHOLE.end_position, WHOLE.end_position),
        holes=holes._replace(position=along(holes.position, holes.position)),
        climate=climate._replace(reed_degC=warmed(climate.reed_degC), bell_degC=warmed(climate.bell_degC)),
    )
    found, slope = moved_errors(moving, OPENNESS, TARGET), note_errors(WHOLE, OPENNESS, TARGET).slope
    stretch = slope.end_position * WHOLE.end_position + slope.holes.position @ holes.position
    warmth = slope.climate.reed_degC + slope.climate.bell_degC
    assert found.slope == pytest.approx(np.stack([stretch, warmth]), rel=1e-9)
    assert found.value == pytest.approx(batch_errors(stacked([WHOLE]), OPENNESS, TARGET)[0], rel=1e-9)


def direction(duct, dice) -> Duct:
    """Rates about as large as the numbers themselves; what is infinite stays, and what stands at one place together."""
    turn = dice.uniform(10.0, 20.0)

    def along(position):
        return position * np.sin(turn * position)

    def own(row):
        known = np.where(np.isinf(row), 0.0, row)
        return dice.uniform(-1.0, 1.0, np.shape(known)) * known

    rates = map_arrays(own, duct)
    bore = rates.bore._replace(position=along(duct.bore.position))
    holes = rates.holes._replace(position=along(duct.holes.position))
    return rates._replace(bore=bore, slices=along(duct.slices), holes=holes)


def test_slopes_along_a_random_direction_are_differences(tier):
    # All numbers at once, of ducts of every kind; relative steps of 1e-7, of notes less than an octave out.
    compared = 0
    for number in range(10):
        dice = np.random.default_rng([number, 77])
        duct, (openness, target) = random_duct(dice, 5), random_chart(dice, 5)
        rates = direction(duct, dice)
        sides = [map_arrays(lambda row, rate, side=side: row + side * rate, duct, rates) for side in (1e-7, -1e-7)]
        ahead, behind = batch_errors(stacked(sides), openness, target)
        slope = note_errors(duct, openness, target).slope
        rows = zip(leaves(slope), leaves(rates), strict=True)
        along = sum(row.reshape(target.size, -1) @ np.ravel(rate) for row, rate in rows)
        near = np.abs(ahead) < 1200.0
        compared += np.count_nonzero(near)
        wrong = np.abs(along - (ahead - behind) / 2e-7)
        assert np.all(wrong[near] < 1e-4 * np.max(np.abs(along[near]), initial=0.0))
    assert compared > 20
