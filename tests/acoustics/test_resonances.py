"""Resonance finding against closed forms and against the impedance curve itself."""

import numpy as np
import pytest
import scipy
from ducts import cents, make_duct, make_holes

from acoustics.air import air
from acoustics.resonances import spectrum
from acoustics.resonances import tuning_error_cents as error
from acoustics.scan import input_admittance as admittance

C = float(air(20.0).c)
HOLES = make_holes((260, 330, 400), (2.5, 3.0, 3.5), (4, 4, 4), (11, 11, 11))
PIPE = make_duct([(0, 7.5), (500, 7.5)], HOLES, 3.0)
CONE = make_duct([(0, 2.0), (600, 7.4)], make_holes((380, 450, 520), (1.5, 2.0, 2.5), (4, 4, 4), (9, 9, 10)), 3.0)
STATES = np.array([(0, 0, 0), (0, 0, 1), (1, 1, 1)], float)


def all_spectra(duct, lossless=False):
    """Spectra of the three states, found one by one."""
    return [spectrum(duct, state[None], 40.0, 2000.0, lossless=lossless)[0] for state in STATES]


def test_spectra_found_together_are_those_found_one_by_one(tier):
    # The chain's grid is shared, every bracket is polished by itself: to the promised 1e-6 cent.
    for together, alone in zip(spectrum(PIPE, STATES, 40.0, 2000.0), all_spectra(PIPE), strict=True):
        assert together.number.tolist() == alone.number.tolist()
        assert np.max(np.abs(cents(together.frequency, alone.frequency))) < 1e-6
        assert together.quality == pytest.approx(alone.quality, rel=1e-4)


def test_spectrum_finds_every_closed_form_resonance_of_each_row():
    # Closed cylinder with p = 0 at its end: (2n - 1) c / (4 L); the three rows are of one pipe without holes.
    thin = make_duct([(0, 7.5), (500, 7.5)], scale=1e-6)
    expected = (2.0 * np.arange(1, 7) - 1.0) * C / 2.0
    for row in spectrum(thin, np.zeros((3, 0)), 40.0, 2000.0, lossless=True):
        assert len(row.frequency) == len(expected)
        assert np.max(np.abs(cents(row.frequency, expected))) < 1e-4


@pytest.mark.parametrize("duct", [PIPE, CONE], ids=["pipe", "cone"])
def test_every_resonance_is_polished_to_its_promise(tier, duct):
    # 1e-6 cent, against SciPy's bracketing root finder on the imaginary part of the admittance.
    for state, row in zip(STATES, all_spectra(duct), strict=True):
        for f in row.frequency[:3]:
            exact = scipy.optimize.brentq(
                lambda g, state=state: complex(admittance(duct, state, g)).imag, f * 0.997, f * 1.003, xtol=1e-12
            )
            assert abs(cents(f, exact)) < 1e-6


def test_a_range_without_resonances_gives_empty_rows(tier):
    # Below the first resonance of a 500 mm pipe (167 Hz) there is none.
    rows = spectrum(PIPE, STATES[:1], 60.0, 100.0, step_cents=1.5655)
    assert [row.frequency.size for row in rows] == [0]


@pytest.mark.parametrize("offset", [-4.5, -2.0, -0.5, 0.0, 0.5, 2.0, 4.5])
@pytest.mark.parametrize("duct", [PIPE, CONE], ids=["pipe", "cone"])
def test_tuning_error_is_the_true_offset_near_the_resonance(tier, duct, offset):
    # Target below the resonance: the note is sharp, the error positive. Offsets by definition of the cent; one Newton
    # step errs in second order, so 0.05 cent up to 4.5 cents leaves a hundredth of what is corrected.
    for state, row in zip(STATES, all_spectra(duct), strict=True):
        for resonance in row.frequency[:2]:
            found = float(error(duct, state, resonance * 2.0 ** (-offset / 1200.0)))
            assert found == pytest.approx(offset, abs=0.05)


@pytest.mark.parametrize("offset", [-150.0, -50.0, 50.0, 150.0])
def test_tuning_error_far_from_the_resonance_keeps_its_sign(tier, offset):
    # One Newton step: wanted as a direction, not as a value.
    for duct in (PIPE, CONE):
        for state, row in zip(STATES, all_spectra(duct), strict=True):
            found = float(error(duct, state, row.frequency[0] * 2.0 ** (-offset / 1200.0)))
            assert np.sign(found) == np.sign(offset)


@pytest.mark.parametrize("duct", [PIPE, CONE], ids=["pipe", "cone"])
def test_quality_is_resonance_over_half_power_width(tier, duct):
    # Width where |Z|^2 has fallen to half, read off the impedance curve with SciPy. Both definitions agree up to the
    # growth of losses across the width and the neighbours' tails: of order 1/Q.
    for state, row in zip(STATES[:2], all_spectra(duct), strict=False):
        f, height, quality = row.frequency[0], row.height[0], row.quality[0]

        def excess(g, state=state, height=height):
            return abs(1.0 / complex(admittance(duct, state, g))) - height / np.sqrt(2.0)

        low, high = (
            scipy.optimize.brentq(excess, f * (1.0 - 1.5 / quality), f),
            scipy.optimize.brentq(excess, f, f * (1.0 + 1.5 / quality)),
        )
        assert quality == pytest.approx(f / (high - low), rel=1.0 / quality)


def test_height_is_the_impedance_at_the_resonance(tier):
    for state, row in zip(STATES, all_spectra(PIPE), strict=True):
        z = [abs(1.0 / complex(admittance(PIPE, state, f))) for f in row.frequency[:3]]
        assert row.height[:3] == pytest.approx(np.array(z), rel=1e-6)


def test_quality_of_a_pipe_is_that_of_its_wall_losses(tier):
    # Low resonances of a narrow pipe lose almost everything at the wall: Q = Im Gamma / (2 Re Gamma) v / v_g, tabulated
    # for a = 2 mm at 100 Hz and 20 degC with exact Bessel functions; the first resonance of 800 mm lies at 99 Hz. The
    # group speed v_g counts the dispersion: v = c (1 - const / sqrt f) with v / c = 0.925565 gives v / v_g = 0.96.
    # Definitions of Q differ by 1 / Q^2 = 3 %.
    pipe = make_duct([(0, 2.0), (800, 2.0)])
    row = spectrum(pipe, np.zeros((1, 0)), 40.0, 2000.0)[0]
    assert 95.0 < row.frequency[0] < 101.0
    group = 1.0 - 0.5 * (1.0 / 0.925564644 - 1.0)
    assert row.quality[0] == pytest.approx(1.977018539 / (2.0 * 0.160237705) * group, rel=0.03)
