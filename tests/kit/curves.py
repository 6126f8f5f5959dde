"""Resonances of the tests' ducts: by the program, and by SciPy on bare impedance curves; errors by their definition."""

import numpy as np
import scipy

from acoustics.chain import chain_of
from acoustics.chart_elements import SECANT_CENTS, around
from acoustics.elements import reed_element
from acoustics.network import as_arrays
from acoustics.resonances import spectrum
from acoustics.scan import input_admittance, input_impedances, network_at, with_reed
from acoustics.sweeps import reflectance, sweep_to_reed


def resonances(duct, state=(), lossless=True) -> np.ndarray:
    """Resonances of one fingering between 40 and 2000 Hz."""
    return spectrum(duct, np.array([state], float), 40.0, 2000.0, lossless=lossless)[0].frequency


def impedance_maxima(duct, guesses) -> np.ndarray:
    """Maxima of |Z| near the guesses [Hz] of a lossy duct without holes, found by SciPy on the bare impedance curve."""

    def negative(f):
        return -1.0 / abs(complex(input_admittance(duct, (), f)))

    bounds = [(guess * 0.998, guess * 1.002) for guess in guesses]
    return np.array(
        [
            scipy.optimize.minimize_scalar(negative, bounds=b, method="bounded", options={"xatol": 1e-5}).x
            for b in bounds
        ]
    )


def columns_of(state, f) -> np.ndarray:
    """One fingering's openness (H, F) at every f (F,)."""
    return np.repeat(np.asarray(state, float)[:, None], len(f), axis=1)


def chain_susceptance(duct, state, f, lossless=False) -> np.ndarray:
    """Im Y of the chain without external interaction, at f (F,)."""
    return (1.0 / input_impedances(duct, columns_of(state, f), f, lossless)[0]).imag


def released_susceptance(duct, state, f) -> np.ndarray:
    """The same at f (F,), lossless, with zero pressure at the bell end."""
    network = network_at(chain_of(duct), columns_of(state, f), f, True)
    fields = sweep_to_reed(network, 0.0 * network.load, np.ones_like(network.load))
    return (fields.U_in / fields.p_in).imag


def near(susceptance, expected, width=0.01) -> np.ndarray:
    """Zeros of a function of f (F,) next to the expected values [Hz], by SciPy; they must cross upward."""
    found = []
    for f in expected:
        low, high = f * (1.0 - width), f * (1.0 + width)
        assert float(susceptance(np.array([low]))[0]) < 0.0 < float(susceptance(np.array([high]))[0])
        found.append(scipy.optimize.brentq(lambda g: float(susceptance(np.array([g]))[0]), low, high, xtol=1e-9))
    return np.array(found)


def errors_by_the_way(duct, openness, f_target, interaction) -> np.ndarray:
    """Errors (N,) [cents] from input impedances at the two frequencies of each note's secant, by their definition:
    what interaction adds is taken from the upper one."""
    f = around(f_target)
    rows = [input_impedances(duct, np.asarray(openness).T, row) for row in f]
    bore = np.array([1.0 / plain for plain, _ in rows])
    if interaction:
        plain, whole = rows[1]
        bore = bore + 1.0 / whole - 1.0 / plain
    admittance = with_reed(duct, bore, f)
    reference = reed_element(f, *chain_of(as_arrays(duct)).given("reed")).reference
    below, above = reflectance(admittance, reference)
    return 2.0 * SECANT_CENTS * np.angle(below + above) / np.angle(below * np.conj(above))
