"""Air against reference equations of state (CoolProp) and Cramer's sound speed of humid air."""

import numpy as np
import pytest
from ducts import cents
from fluids import humid, pure

from acoustics.air import OUTDOOR_CO2, STANDARD_PRESSURE, air, saturation_pressure, water_fraction

TEMPERATURES = np.arange(0.0, 41.0, 5.0)


def coolprop(key: str, fluid: str = "Air") -> np.ndarray:
    return np.array([pure(key, "T", t + 273.15, "P", STANDARD_PRESSURE, fluid) for t in TEMPERATURES])


def cramer_sound_speed(theta: float, water: float, co2: float, pressure: float = STANDARD_PRESSURE) -> float:
    """Sound speed of humid air [m/s]; Cramer, J. Acoust. Soc. Am. 93 (1993) 2510, interpolating equation."""
    a = (331.5024, 0.603055, -0.000528, 51.471935, 0.1495874, -0.000782, -1.82e-7, 3.73e-8, -2.93e-10)
    a += (-85.20931, -0.228525, 5.91e-5, -2.835149, -2.15e-13, 29.179762, 0.000486)
    powers = np.array([1.0, theta, theta**2])
    return float(
        powers @ a[0:3]
        + powers @ a[3:6] * water
        + powers @ a[6:9] * pressure
        + powers @ a[9:12] * co2
        + a[12] * water**2
        + a[13] * pressure**2
        + a[14] * co2**2
        + a[15] * water * pressure * co2
    )


def coolprop_breath_speed(theta: float, humidity: float, co2: float) -> float:
    """Sound speed [m/s] of an ideal-gas mixture, heat capacities of the pure gases from CoolProp.

    Dry air: 78.09 % N2, 20.946 % O2, 0.93 % Ar, 0.04 % CO2 (US Standard Atmosphere 1976, CO2 of today). Each CO2
    molecule beyond that costs 1.18 O2 (respiratory quotient 0.85, from memory of physiology texts).
    """
    kelvin = theta + 273.15
    water = humid("psi_w", "T", kelvin, "P", STANDARD_PRESSURE, "R", humidity) if humidity else 0.0
    dry = {"Nitrogen": 0.78084, "Oxygen": 0.20946, "Argon": 0.0093, "CarbonDioxide": OUTDOOR_CO2}
    shares = {name: share * (1.0 - water) for name, share in dry.items()} | {"Water": water}
    extra = co2 - shares["CarbonDioxide"]
    shares |= {"CarbonDioxide": co2, "Oxygen": shares["Oxygen"] - 1.18 * extra}
    shares["Nitrogen"] += 0.18 * extra
    heat = sum(x * pure("CP0MOLAR", "T", kelvin, "P", 100.0, name) for name, x in shares.items())
    mass = sum(x * pure("M", name) for name, x in shares.items())
    gas_constant = 8.314462618  # CODATA 2018
    return float(np.sqrt(heat / (heat - gas_constant) * gas_constant * kelvin / mass))


def test_sound_speed_of_dry_air_lies_within_half_a_cent():
    # CoolProp: Lemmon et al., J. Phys. Chem. Ref. Data 29 (2000) 331, within 0.2 %, far better near 1 atm.
    assert np.max(np.abs(cents(air(TEMPERATURES).c, coolprop("A")))) < 0.5


@pytest.mark.parametrize(
    ("field", "key", "tolerance"),
    [
        ("rho", "D", 1e-3),  # an ideal gas: the compressibility factor of air differs from 1 by 0.06 % at 0 degC
        ("viscosity", "V", 0.01),  # Lemmon & Jacobsen, Int. J. Thermophys. 25 (2004) 21: 1 % (from memory)
        ("conductivity", "L", 0.02),  # same source: 2 % (from memory)
        ("heat_capacity", "C", 5e-3),  # 240 cal/(kg K) is a two-digit constant
    ],
)
def test_dry_air_property_matches_the_reference_equation(field, key, tolerance):
    assert getattr(air(TEMPERATURES), field) == pytest.approx(coolprop(key), rel=tolerance)


def test_ratio_of_specific_heats_matches_the_reference_equation():
    # The value enters losses as gamma - 1 = 0.402 and must be right to 0.5 % there.
    reference = coolprop("CPMASS") / coolprop("CVMASS")
    assert air(TEMPERATURES).gamma - 1.0 == pytest.approx(reference - 1.0, rel=5e-3)


def test_density_follows_the_gas_law_in_pressure_and_sound_speed_ignores_it():
    # Ideal gas: rho proportional to p, c independent of p.
    low, high = air(20.0, pressure=80e3), air(20.0, pressure=100e3)
    assert high.rho / low.rho == pytest.approx(1.25, rel=1e-12)
    assert high.c == pytest.approx(float(low.c), rel=1e-12)


@pytest.mark.parametrize("theta", [5.0, 20.0, 30.0, 40.0])
def test_saturation_pressure_matches_the_properties_of_water(theta):
    # CoolProp: IAPWS-95 (Wagner & Pruss 2002). Giacomo 1982 states 0.1 % or better for the CIPM form (from memory).
    reference = pure("P", "T", theta + 273.15, "Q", 1, "Water")
    assert float(saturation_pressure(theta)) == pytest.approx(reference, rel=1e-3)


@pytest.mark.parametrize("theta", [5.0, 20.0, 37.0])
@pytest.mark.parametrize("humidity", [0.3, 1.0])
def test_water_fraction_matches_the_reference_humid_air(theta, humidity):
    # CoolProp humid air: ASHRAE RP-1485 (Herrmann, Kretzschmar & Gatley 2009).
    reference = humid("psi_w", "T", theta + 273.15, "P", STANDARD_PRESSURE, "R", humidity)
    assert float(water_fraction(theta, humidity)) == pytest.approx(reference, rel=2e-3)


@pytest.mark.parametrize(
    ("theta", "humidity", "speed"), [(0, 0, 331.4477), (20, 0, 343.3595), (20, 0.5, 343.9869), (20, 1, 344.6135)]
)
def test_the_published_equation_is_copied_right(theta, humidity, speed):
    # Values of Cramer's equation computed elsewhere, 101 325 Pa and 400 ppm CO2; guards the reference used below.
    water = humid("psi_w", "T", theta + 273.15, "P", STANDARD_PRESSURE, "R", humidity) if humidity else 0.0
    assert cramer_sound_speed(theta, water, 4e-4) == pytest.approx(speed, abs=0.002)


@pytest.mark.parametrize("theta", [0.0, 10.0, 20.0, 27.0, 30.0])
@pytest.mark.parametrize("humidity", [0.0, 0.5, 1.0])
def test_sound_speed_of_humid_air_lies_within_the_claimed_uncertainty(theta, humidity):
    # Cramer 1993 claims 300 ppm (0.52 cent) for 0 to 30 degC.
    water = humid("psi_w", "T", theta + 273.15, "P", STANDARD_PRESSURE, "R", humidity) if humidity else 0.0
    assert abs(cents(air(theta, humidity).c, cramer_sound_speed(theta, water, OUTDOOR_CO2))) < 0.52


@pytest.mark.parametrize("theta", [20.0, 27.0, 34.0])
@pytest.mark.parametrize("co2", [OUTDOOR_CO2, 0.025, 0.04, 0.085])
def test_breath_moves_the_sound_speed_as_an_ideal_mixture_does(theta, co2):
    # Shift from dry outdoor air of the same temperature; 0.52 cent is Cramer's 300 ppm.
    expected = cents(coolprop_breath_speed(theta, 1.0, co2), coolprop_breath_speed(theta, 0.0, OUTDOOR_CO2))
    assert abs(cents(air(theta, 1.0, co2).c, air(theta).c) - expected) < 0.52


def test_carbon_dioxide_flattens_by_the_slope_of_the_published_equation():
    # Cramer 1993 within its range of CO2 (up to 1 %). There x(O2) + x(CO2) is constant (Giacomo 1982), here breath
    # spends 1.18 O2 for each CO2, which N2 makes up: 0.18 (32.00 - 28.01) g/mol lighter per mole of CO2.
    published = cents(cramer_sound_speed(20.0, 0.0, 0.01), cramer_sound_speed(20.0, 0.0, 0.0004)) / 0.96
    lighter = 600.0 / np.log(2.0) * 0.01 * 0.18 * (31.9988 - 28.0134) / 28.9655
    slope = cents(air(20.0, co2=0.01).c, air(20.0).c) / 0.96
    assert float(slope) == pytest.approx(float(published + lighter), abs=0.05)
