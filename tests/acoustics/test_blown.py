"""Blown notes: published thresholds and expansions, square waves, and the same tones sample by sample in the kit."""

import numpy as np
import pytest
from blown_in_time import bore, played, rate_for
from counted_pitch import counted_hz
from scipy import optimize

from acoustics.balance import Balance, Reeds
from acoustics.blown import blown, threshold
from acoustics.impedance_table import ImpedanceTable
from acoustics.steadiness import growing
from acoustics.valve import ROUNDED, strength, valve_flow

CYLINDER = bore(500.0, 7.5)
CONE = bore(700.0, 6.0, apex_mm=250.0, cavity_mm=83.0)
SHORT_CONE = bore(400.0, 6.0, apex_mm=250.0, cavity_mm=83.0)


def soft_limit(shape, low, high):
    """The upward zero of Im Y between two frequencies, by SciPy."""
    return optimize.brentq(lambda f: (1.0 / shape.impedance(f)).imag, low, high)


def tones(shape, near, zeta, ways, **more):
    return blown(lambda rows, f: shape.impedance(f), np.array([near]), Reeds(zeta, np.inf, 0.0), np.array(ways), **more)


def cents(hz, near):
    return 1200.0 * np.log2(hz / near)


def test_the_valve_is_bernoullis_flow_through_a_slit_that_closes():
    # Wilson & Beavers 1974, from memory: zeta (1 - dp) sqrt(dp), none beyond 1; greatest, 2 / (3 sqrt 3), at a third.
    across = np.array([0.1, 1.0 / 3.0, 0.7, 1.4, -0.5])
    found = valve_flow(across, across, rounded=1e-6)
    assert found.value == pytest.approx(
        [0.9 * 0.1**0.5, 2.0 / 27.0**0.5, 0.3 * 0.7**0.5, 0.0, -1.5 * 0.5**0.5], abs=1e-5
    )
    assert found.by_pressure[1] + found.by_pressing[1] == pytest.approx(0.0, abs=1e-5)


def test_slopes_of_the_valve_are_its_differences():
    at, step = np.linspace(-0.6, 1.5, 43), 1e-6
    found = valve_flow(at, at + 0.1)
    by_pressure = (valve_flow(at + step, at + 0.1).value - valve_flow(at - step, at + 0.1).value) / (2.0 * step)
    by_pressing = (valve_flow(at, at + 0.1 + step).value - valve_flow(at, at + 0.1 - step).value) / (2.0 * step)
    assert found.by_pressure == pytest.approx(by_pressure, abs=1e-6)
    assert found.by_pressing == pytest.approx(by_pressing, abs=1e-6)


def test_strength_by_hand():
    # 415 Pa s/m over 177 mm2; a slit of 5 mm2, 6 kPa: 5e-6 sqrt(12000 / 1.2) = 5e-4 m3/s; times Zc over 6 kPa.
    assert float(strength(np.asarray(5e-6), np.asarray(6000.0), 415.0 / 177e-6, 1.2)) == pytest.approx(0.1954, abs=1e-4)


@pytest.mark.parametrize("zeta", [0.2, 0.3, 0.5])
def test_a_cylinder_starts_at_a_third_and_some_more_for_losses(zeta):
    # Without losses 1/3 (Wilson & Beavers 1974); to first order 2 Re Y / (3 sqrt(3) zeta) more (Kergomard 1995), both
    # from memory. The losses of a bore a tenth as lossy leave hardly more than a third.
    near = soft_limit(CYLINDER, 150.0, 190.0)
    first = 1.0 / 3.0 + 2.0 * (1.0 / CYLINDER.impedance(near)).real / (27.0**0.5 * zeta)
    found = tones(CYLINDER, near, zeta, [0.05])
    assert found.starts[0] == pytest.approx(
        first, abs=1.6 * (first - 1.0 / 3.0) ** 2
    )  # what is next in the series is 1.5 of it
    assert found.starts_hz[0] == pytest.approx(near, rel=1e-9)
    lean = CYLINDER._replace(loss=0.1 * CYLINDER.loss)
    there = soft_limit(lean, 150.0, 190.0)
    assert 0.0 < tones(lean, there, zeta, [0.05]).starts[0] - 1.0 / 3.0 < 0.12 * (first - 1.0 / 3.0)


def test_a_reed_too_weak_for_a_bore_starts_nothing():
    # A tone needs zeta > Re Y: even at the closing pressure the reed gives back no more than zeta (Wilson & Beavers).
    near = soft_limit(CYLINDER, 150.0, 190.0)
    loss = float((1.0 / CYLINDER.impedance(near)).real)
    weak, strong = (tones(CYLINDER, near, share * loss, [0.05]) for share in (0.99, 1.01))
    assert np.isnan([weak.starts[0], weak.hz[0, 0]]).all()
    assert not weak.steady[0, 0]
    assert 0.98 < strong.starts[0] < 1.0


def test_inertia_moves_the_start_as_two_equations_in_scipy():
    near, zeta, resonance, damping = soft_limit(CYLINDER, 150.0, 190.0), 0.4, 900.0, 0.4

    def left(unknown):
        f, g = unknown
        answer = 1.0 / (1.0 - (f / resonance) ** 2 + 1j * f / resonance * damping)
        value = 1.0 / CYLINDER.impedance(f) - zeta * (g**0.5 * answer - (1.0 - g) / (2.0 * g**0.5))
        return value.real, value.imag

    f, g = optimize.fsolve(left, (near, 0.4), xtol=1e-12)
    reeds = Reeds(np.array([zeta]), np.array([resonance]), np.array([damping]))
    balance = Balance(
        lambda rows, f: CYLINDER.impedance(f), np.array([0]), np.array([near]), reeds, np.array([4]), ROUNDED
    )
    starts, away = threshold(balance)
    assert (starts[0], near * np.exp(away[0])) == (pytest.approx(g, rel=1e-7), pytest.approx(f, rel=1e-7))
    assert cents(f, near) < -5.0


def test_slopes_of_the_equations_are_their_differences():
    # At a tone, where what is left is nothing and its weight does not matter.
    reeds = Reeds(np.array([0.6]), np.array([2000.0]), np.array([0.3]))
    balance = Balance(
        lambda rows, f: CONE.impedance(f), np.array([0]), np.array([178.0]), reeds, np.array([5]), ROUNDED
    )
    guess = np.array([[0.4, -0.2, 0.1, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.5]])
    x = balance.settled(np.array([0]), guess)[0]
    assert x[0] > 0.1
    steps, rows = 1e-6 * np.eye(11), np.zeros(11, int)
    slopes = (balance(rows, x + steps)[0] - balance(rows, x - steps)[0]) / 2e-6
    assert balance(rows[:1], x[None])[1][0] == pytest.approx(slopes.T, abs=2e-5)


def test_a_small_tone_grows_as_the_root_of_what_is_above_its_start():
    # Grand, Gilbert & Laloe 1997, from memory: p1 ~ sqrt(pressure - start). The second partial moves the pitch with
    # p1^2; here it meets next to no impedance, and what the third does goes with p1^4.
    near = soft_limit(CYLINDER, 150.0, 190.0)
    found = tones(CYLINDER, near, 0.3, [0.001, 0.004, 0.01, 0.02], rounded=1e-4)
    first, away = np.abs(found.partials[0, :, 0]), cents(found.hz[0], near)
    assert first[1] / first[0] == pytest.approx(2.0, abs=0.02)
    assert away[3] / away[2] == pytest.approx(4.0, abs=0.15)
    assert abs(away[0]) < 0.01


def test_a_cylinder_of_hardly_any_losses_plays_a_square_wave():
    # Helmholtz motion (Maganza, Causse & Laloe 1986; Kergomard 1995, from memory): p = +-sqrt((3 g - 1) (1 - g)) while
    # the reed stays open, +-g once it shuts, beyond g = 1/2; its odd partials are 4 / (n pi) of that, even ones none.
    lean = CYLINDER._replace(loss=0.02 * CYLINDER.loss)
    near = soft_limit(lean, 150.0, 190.0)
    found = tones(lean, near, 0.3, [0.05, 0.1, 0.4], partials=15)
    for g, partials in zip(found.pressure[0], np.abs(found.partials[0]), strict=True):
        tall = np.sqrt((3.0 * g - 1.0) * (1.0 - g)) if g < 0.5 else g
        short = 1.0 - partials[:5:2] / (4.0 * tall / np.pi / np.array([1, 3, 5]))
        assert np.all((short > 0.0) & (short < [0.02, 0.05, 0.08]))
        assert partials[1:7:2].max() < 0.01
    assert found.pressure[0, -1] > 0.55


@pytest.mark.parametrize(
    ("shape", "near", "zeta", "way"),
    [(CYLINDER, 168.0, 0.3, 0.13), (CONE, 178.0, 0.5, 0.2), (CONE, 178.0, 0.8, 0.5), (SHORT_CONE, 265.0, 0.5, 0.2)],
)
def test_the_same_tone_comes_of_waves_in_delay_lines(shape, near, zeta, way):
    near = soft_limit(shape, near - 18.0, near + 18.0)
    found = tones(shape, near, zeta, [0.5 * way, way])
    assert found.steady[0, 1]
    first = np.abs(found.partials[0, 1, :2])
    rate = rate_for(shape)

    def start(t):
        return sum(0.5 * tall * np.cos(2.0 * np.pi * n * near * t) for n, tall in enumerate(first, 1))

    sound = played(shape, found.pressure[0, 1], zeta, 0.6, rate, start)[-int(0.25 * rate) :]
    assert abs(cents(found.hz[0, 1], near)) > 5.0
    assert cents(counted_hz(sound, rate, near), found.hz[0, 1]) == pytest.approx(0.0, abs=0.25)


def test_a_tone_that_the_delay_lines_leave_is_told_as_none_that_lasts():
    # A cone whose second resonance stands taller: played, it goes to another tone; see the benchmark's table.
    shape = bore(600.0, 3.0, apex_mm=180.0, cavity_mm=60.0)
    near = soft_limit(shape, 180.0, 240.0)
    found = tones(shape, near, 0.5, [0.05, 0.2])
    assert np.isfinite(found.hz[0, 1])
    assert not found.steady[0, 1]
    first, rate = np.abs(found.partials[0, 1, :2]), rate_for(shape)

    def start(t):
        return sum(0.5 * tall * np.cos(2.0 * np.pi * n * near * t) for n, tall in enumerate(first, 1))

    sound = played(shape, found.pressure[0, 1], 0.5, 0.6, rate, start)[-int(0.25 * rate) :]
    turn = np.exp(-2j * np.pi * found.hz[0, 1] * np.arange(sound.size) / rate) * np.hanning(sound.size)
    assert 2.0 * abs(np.sum(sound * turn)) / np.hanning(sound.size).sum() < 0.05 * first[0]


def test_cents_settle_with_the_number_of_partials():
    near = soft_limit(CONE, 160.0, 200.0)
    few = [cents(tones(CONE, near, 0.5, [0.1, 0.2], partials=n, highest_hz=1e9).hz[0], near) for n in (6, 10, 20, 40)]
    off = np.max(np.abs(np.array(few[:-1]) - few[-1]), axis=1)
    assert np.all(off < [8.0, 1.0, 0.05])


def test_sharper_corners_of_the_valve_move_no_pitch():
    near = soft_limit(CYLINDER, 150.0, 190.0)
    found = [cents(tones(CYLINDER, near, 0.3, [0.05, 0.13], rounded=each).hz[0], near) for each in (ROUNDED, 1e-3)]
    assert found[0] == pytest.approx(found[1], abs=0.2)


@pytest.mark.parametrize(("resonance", "damping"), [(np.inf, 0.0), (700.0, 1.5)])
def test_a_disturbance_grows_on_a_silent_bore_above_the_start_alone(resonance, damping):
    # No tone at all is a periodic tone of amplitude 0: its disturbances grow where a small tone starts.
    near = soft_limit(CYLINDER, 150.0, 190.0)
    reeds = Reeds(*(np.full(2, each) for each in (0.3, resonance, damping)))
    starts = blown(lambda rows, f: CYLINDER.impedance(f), np.array([near]), reeds.of([0]), np.array([0.05])).starts[0]
    pressure, silent = np.array([0.97, 1.02]) * starts, np.zeros((2, 4), complex)
    hz = np.full(2, near / 1.37)  # beside the resonance, so that it lies between two partials
    more = growing(lambda rows, f: CYLINDER.impedance(f), np.zeros(2, int), hz, silent, pressure, reeds, 1e-4)
    assert more[1] - more[0] == 2  # the resonance with its mirror image


def test_between_the_points_of_a_table_impedances_are_near_and_tones_settle_on_the_true_ones():
    def seen(rows, f):
        return CONE.impedance(f)

    table = ImpedanceTable(seen, np.array([0]), np.array([50.0]), 4000.0)
    f = np.geomspace(51.0, 3900.0, 997)[None]
    true = CONE.impedance(f)
    assert np.max(np.abs(table(np.array([0]), f) - true) / np.abs(true)) < 0.03
    near = soft_limit(CONE, 160.0, 200.0)
    wide = ImpedanceTable(seen, np.array([0]), np.array([0.3]), 6500.0)
    exact, rough = (tones(CONE, near, 0.5, [0.05, 0.2], rough=way) for way in (None, wide))
    assert rough.hz == pytest.approx(exact.hz, rel=1e-10)
