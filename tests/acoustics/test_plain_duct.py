"""Ducts from plain numbers against three-dimensional finite elements."""

import json
import re
from functools import cache

import numpy as np
import pytest
from ducts import apex_cone, cents
from places import REFERENCE, ROOT

from acoustics.plain_duct import PlainDuct

FILE = json.loads((REFERENCE / "duct_finite_elements.json").read_text())
KEYED = json.loads((REFERENCE / "keyed_holes_finite_elements.json").read_text())
CASES = FILE["cases"]
ALL = CASES | KEYED["cases"]
SPEED = FILE["c_m_per_s"]
TUBE = {"bore": [[0, 7.5], [300, 7.5]], "outer": [[0, 11.5], [300, 11.5]]}


@cache
def duct_of(name: str) -> PlainDuct:
    case = ALL[name]
    return PlainDuct(case["bore"], case["outer"], case["holes"], SPEED, lossless=True)


def allowed(duct: PlainDuct, f: np.ndarray) -> np.ndarray:
    """Allowed relative difference of Z_in: 2 %, or what 0.4 cent of frequency does where the impedance is steep.

    0.4 cent is twice the data's stated uncertainty; the change is taken from the duct's own slope at f.
    """
    at, beside = duct.input_impedance(f), duct.input_impedance(f * 2.0 ** (2.0 * FILE["uncertainty_cents"] / 1200))
    return np.maximum(0.02, np.abs(beside / at - 1.0))


def test_both_files_are_of_the_same_air():
    assert KEYED["c_m_per_s"] == SPEED
    assert CASES.keys().isdisjoint(KEYED["cases"])


@pytest.mark.parametrize("name", ALL)
def test_every_resonance_is_that_of_finite_elements(name):
    # 3-D Helmholtz, general-purpose finite-element library, lossless, 0.2 cent; see the files. No constant is fitted to
    # them: those of openings to the static flow about an opening by itself.
    expected = np.array(ALL[name]["resonances"])
    found = cents(duct_of(name).resonances().frequency[: expected.size], expected)
    assert found.size == expected.size
    assert np.max(np.abs(found[:2])) < 1.0
    assert np.max(np.abs(found)) < 2.0


README = (ROOT / "acoustics" / "README.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ALL)
def test_the_readme_tells_how_far_each_resonance_is_off(name):
    # Its table gives hundredths of a cent: whatever moves a resonance of a rigid duct by two of them must change it.
    (row,) = re.findall(rf"^\| {name} \| [^|]+ \| ([^|]+) \|", README, re.MULTILINE)
    told = np.array(row.split(), float)
    found = duct_of(name).resonances().frequency[: told.size]
    assert told.size == len(ALL[name]["resonances"])
    assert cents(found, ALL[name]["resonances"]) == pytest.approx(told, abs=0.02)


@pytest.mark.parametrize("name", CASES)
def test_input_impedance_is_that_of_finite_elements(name):
    # The same computation, Z_in over rho c / S.
    f = np.array([float(key) for key in CASES[name]["Z"]])
    expected = np.array([complex(*value) for value in CASES[name]["Z"].values()])
    difference = np.abs(duct_of(name).input_impedance(f) / expected - 1.0)
    assert np.all(difference < allowed(duct_of(name), f))
    assert np.count_nonzero(difference > 0.02) == (name == "E")  # 300 Hz, a cent from a sharp peak


def peaks(duct: PlainDuct, guesses) -> np.ndarray:
    """Maxima of |Z_in| near the guesses [Hz], by three zooms on twelve points and a parabola."""
    found = []
    for guess in guesses:
        centre, width = guess, 0.01
        for _ in range(3):
            f = centre * (1.0 + width * np.linspace(-1.0, 1.0, 12))
            height = np.abs(duct.input_impedance(f))
            top = int(np.argmax(height))
            assert 0 < top < 11
            centre, width = f[top], width / 8.0
        square = np.polyfit(f - centre, height, 2)
        found.append(centre - square[1] / (2.0 * square[0]))
    return np.array(found)


def test_losses_flatten_a_narrow_cone_as_published(tier):
    # 2.0 to 7.4 mm over 600 mm at 20 degC: lossless lie 41.6, 32.2 and 25.9 cents above lossy peaks, computed elsewhere
    # with exact local losses; wall losses are first order in narrow cones.
    bore = apex_cone(2.0, 7.4, 600)
    without = PlainDuct(bore, bore, (), 343.37, lossless=True).resonances().frequency[:3]
    losing = PlainDuct(bore, bore, (), 343.37)
    assert cents(without, peaks(losing, losing.resonances().frequency[:3])) == pytest.approx(
        [41.6, 32.2, 25.9], abs=0.1
    )


def hole(**changes):
    return {"x": 200, "r": 4.0, "state": "open"} | changes


@pytest.mark.parametrize("state", ["shut", "", None, 1])
def test_a_state_that_is_none_is_refused(state):
    with pytest.raises(ValueError, match=f"must be 'open' or 'closed', but got {state!r}"):
        PlainDuct(**TUBE, holes=[hole(state=state)])


@pytest.mark.parametrize("x", [-1, 0, 300, 301])
def test_a_hole_outside_the_duct_is_refused(x):
    with pytest.raises(ValueError, match=f"inside the duct, but got one at {x}"):
        PlainDuct(**TUBE, holes=[hole(x=x)])


@pytest.mark.parametrize("seat", [{"r": 4.0, "top": 13.5}, {"r": 6.0, "top": 7.5}])
def test_a_seat_without_rim_or_chimney_is_refused(seat):
    with pytest.raises(ValueError, match="must be wider than its hole and stand above the bore"):
        PlainDuct(**TUBE, holes=[hole(seat=seat)])


def test_a_lid_on_a_flat_closes_the_whole_chimney():
    # Flat above the body's crown, by the height of it: a closed hole's volume, against the saddle's lid which dips by
    # the mean height of the crown over the hole. Rayleigh: more volume, lower note.
    def first(**changes):
        return PlainDuct(**TUBE, holes=[hole(state="closed", **changes)], lossless=True).resonances().frequency[0]

    assert first(seat={"r": 6.0, "top": 13.5}) < first(seat={"r": 6.0, "top": 11.5}) < first()


def test_a_flat_sunk_into_the_wall_raises_the_note():
    # Less mass in a shorter chimney.
    def first(top):
        return PlainDuct(**TUBE, holes=[hole(seat={"r": 6.0, "top": top})], lossless=True).resonances().frequency[0]

    assert first(10.6) > first(11.0) > first(11.5) > first(12.5)


def test_a_hole_on_the_other_side_acts_on_its_neighbour_less():
    # Each open hole adds mass to the other through the air outside, the less the farther it is on the way round.
    def first(degrees):
        holes = [hole(x=190), hole(x=206, azimuth_deg=degrees)]
        return PlainDuct(**TUBE, holes=holes, lossless=True).resonances().frequency[0]

    assert first(0.0) == first(360.0) < first(90.0) < first(180.0)


def test_a_pad_and_a_raised_chimney_lower_the_note():
    # More mass in the hole: Rayleigh's principle. Taper toward the outside likewise.
    def first(**changes):
        return PlainDuct(**TUBE, holes=[hole(**changes)], sound_speed=SPEED, lossless=True).resonances().frequency[0]

    plain = first()
    assert first(pad={"r": 6.0, "gap": 3.0}) < plain
    assert first(chimney=6.0) < plain
    assert first(r_top=3.0) < plain < first(r_top=5.0)
