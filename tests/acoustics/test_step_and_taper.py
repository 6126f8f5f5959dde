"""Steps of the bore, tapered chimneys, cavities with length, flares and wide holes."""

from functools import reduce

import numpy as np
import pytest
import scipy
from curves import impedance_maxima, near, released_susceptance, resonances
from ducts import MM, apex_cone, axial_length, cents, make_duct, make_holes
from formulas import as_array, body_with_outer_length

from acoustics.air import air
from acoustics.bore import Bore, segment_matrix, step_inertance
from acoustics.duals import Dual
from acoustics.reed import Reed, reed_admittance

AIR = air(20.0)
C, RHO = float(AIR.c), float(AIR.rho)


# --- steps -----------------------------------------------------------------------------------------------------------


def step_length(small: float, large: float) -> float:
    """Length over the small radius that a step adds to the small tube."""
    bore = Bore(np.array([0.0, 0.1, 0.1, 0.2]), np.array([small, small, large, large]))
    return float(step_inertance(bore, np.array([0.1]), AIR)[0]) * np.pi * small / RHO


def matched_step(ratio: float, modes: int = 24) -> float:
    """The same from potential flow by matching axisymmetric modes of both tubes in the aperture.

    Velocity 1 + sum c_n J0(g_n s) in the aperture, zero outside it; the pressures of both sides agree over it.
    """
    inner, outer = scipy.special.jn_zeros(1, modes), scipy.special.jn_zeros(1, int(modes / ratio) + modes)
    x = ratio * outer[:, None]
    overlap = x * scipy.special.j1(x) * scipy.special.j0(inner) / (x**2 - inner**2)
    mean = (scipy.special.j1(x) / x)[:, 0]
    weight = 2.0 * ratio / (scipy.special.j0(outer) ** 2 * outer)
    stiff = overlap.T @ (weight[:, None] * overlap) + np.diag(scipy.special.j0(inner) ** 2 / (2.0 * inner))
    shape = np.linalg.solve(stiff, -overlap.T @ (weight * mean))
    return 2.0 * float(mean @ (weight * (mean + overlap @ shape)))


@pytest.mark.parametrize("ratio", [0.11, 0.3, 0.5, 0.7, 0.9])
def test_a_step_has_the_length_of_matched_modes(ratio):
    # Converged within 0.0005; 0.006 of a radius of 5 mm is 0.1 cent on a pipe of 500 mm.
    assert step_length(ratio * 0.01, 0.01) == pytest.approx(matched_step(ratio), abs=0.006)


def test_a_tiny_tube_in_a_wide_one_has_the_flanged_length():
    # Nomura, Yamamura & Inawashiro 1960: 0.8216 of the radius.
    assert step_length(1e-6, 1.0) == pytest.approx(0.8216, abs=1e-3)


def test_no_step_has_no_inertance():
    bore = Bore(np.array([0.0, 0.1, 0.2, 0.4]), np.array([5.0, 5.0, 6.0, 6.0]) * MM)
    assert np.max(np.abs(step_inertance(bore, np.array([0.0, 0.05, 0.1, 0.15, 0.2, 0.4]), AIR))) == 0.0


def test_a_step_is_the_same_either_way_round():
    bore = Bore(np.array([0.0, 0.1, 0.1, 0.2]), np.array([6.0, 6.0, 3.0, 3.0]) * MM)
    found = float(step_inertance(bore, np.array([0.1]), AIR)[0]) * np.pi * 3e-3 / RHO
    assert found == pytest.approx(step_length(3e-3, 6e-3), rel=1e-12)


def test_a_step_lengthens_the_narrow_pipe_before_a_wide_one():
    # Closed pipe of 3 mm ending in one of 300 mm: an open end with a flange, resonances (2n - 1) c / (4 (L + dl)).
    wide = [(0, 3.0), (300, 3.0), (300, 300.0), (301, 300.0)]
    duct = make_duct(wide)
    expected = C / (4.0 * (0.3 + step_length(3.0, 300.0) * 3e-3))
    found = near(lambda f: released_susceptance(duct, (), f), [expected])
    assert abs(cents(found[0], expected)) < 0.5


# --- tapered chimneys ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("radius", "top", "closed", "opened", "error"),
    [(5.0, 3.5, 286.0756, 389.014, 2.1), (3.0, 4.0, 285.9285, 373.0887, 1.4), (3.5, 3.5, 285.9808, 376.0244, 0.1)],
)
def test_a_tapered_chimney_sounds_as_in_finite_elements(radius, top, closed, opened, error):
    # 3-D eigenfrequencies, general-purpose finite-element library, 0.05 cent: a = 7.5 mm, closed at 0, p = 0 at 300 mm,
    # chimney 6 mm at 200 mm, rigid or p = 0 at its top; outer length 0 through the body radius. A cylinder of the mean
    # radius would be 5 cents flat closed and 14 sharp open.
    holes = make_holes([200], [radius], [6], [body_with_outer_length(top, 0.0)], top=[top])
    duct = make_duct([(0, 7.5), (300, 7.5)], holes)
    for state, expected, tolerance in ((0.0, closed, 0.15), (1.0, opened, error)):
        found = near(lambda f, state=state: released_susceptance(duct, (state,), f), [expected])
        assert abs(cents(found[0], expected)) < tolerance


# --- cavities --------------------------------------------------------------------------------------------------------

VOLUME = 0.93084e-6  # of the tip missing from the cone 2.0 to 7.4 mm over 600 mm
PEAKS = [(2.0, (202.33, 411.29)), (1.5, (201.07, 393.85)), (1.6658, (201.698, 403.395, 608.87))]


def cavity_in_bore(radius):
    """The cone with the cavity as a cylinder [mm] in its bore table."""
    length = VOLUME / (np.pi * (radius * MM) ** 2) / MM
    step = [] if radius == 2.0 else [(length, 2.0)]
    return make_duct([(0, radius), (length, radius), *step, (length + axial_length(2.0, 7.4, 600), 7.4)])


def cavity_as_reed(radius):
    return make_duct(apex_cone(2.0, 7.4, 600), reed=Reed(VOLUME, radius * MM, 0.0, np.inf, 0.0))


@pytest.mark.parametrize(("radius", "peaks"), PEAKS)
def test_a_cone_with_a_cylinder_before_it_has_the_computed_peaks(tier, radius, peaks):
    # |Z| at the closed end of the cylinder, lossy, 20 degC, computed elsewhere without the inertance of the step, which
    # lowers the upper peaks by up to 0.45 cent.
    found = cents(impedance_maxima(cavity_in_bore(radius), peaks), peaks)
    assert np.all((found > (-0.05 if radius == 2.0 else -0.5)) & (found < 0.05))


@pytest.mark.parametrize("radius", [2.0, 1.6658, 1.5])
def test_a_cavity_with_length_is_a_piece_of_bore(radius):
    # Without losses resonances do not depend on where they are looked for; the step's inertance again.
    found = cents(resonances(cavity_in_bore(radius))[:2], resonances(cavity_as_reed(radius))[:2])
    assert np.all((found > (-1e-3 if radius == 2.0 else -0.5)) & (found < 1e-3))


@pytest.mark.parametrize("radius", [2.0, 1.6658])
def test_a_lossy_cavity_sounds_as_a_piece_of_bore_does(tier, radius):
    # The reed sits at the closed end of the cavity, so that is where Im Y = 0 counts. Half a cent for the step.
    lossy = [resonances(duct(radius), lossless=False)[:2] for duct in (cavity_as_reed, cavity_in_bore)]
    assert np.max(np.abs(cents(*lossy))) < 0.5


@pytest.mark.parametrize("f", [100.0, 440.0])
def test_a_small_cavity_is_its_volume(f):
    # tan kl = kl (1 + (kl)^2 / 3): a wide short cylinder is the lumped one.
    lumped, short = (
        complex(reed_admittance(f, Reed(0.2e-6, radius, 0.0, np.inf, 0.0), AIR, lossless=True))
        for radius in (np.inf, 6e-3)
    )
    length = 2.0 * np.pi * f / C * 0.2e-6 / (np.pi * 36e-6)
    assert short == pytest.approx(lumped, rel=0.4 * length**2)


# --- flares and wide holes -------------------------------------------------------------------------------------------


def test_a_flare_of_cones_converges_with_order_two():
    # Exponential bell, 5 to 40 mm over 200 mm, by ever more cones: the chord's error falls with its length squared.
    def entry(count):
        radius = 5e-3 * 8.0 ** (np.arange(count + 1) / count)
        step = 0.2 / count
        parts = as_array(segment_matrix(600.0, radius[:-1], step, np.diff(radius) / step, AIR))
        (a, b), (c, d) = reduce(np.matmul, parts)
        load = RHO * C / (np.pi * 0.04**2) * (0.2 + 0.5j)
        return (a * load + b) / (c * load + d)

    exact = entry(512)
    errors = [abs(entry(count) / exact - 1.0) for count in (8, 16, 32)]
    assert np.log2(errors[0] / errors[1]) == pytest.approx(2.0, abs=0.15)
    assert np.log2(errors[1] / errors[2]) == pytest.approx(2.0, abs=0.15)


def test_a_hole_as_wide_as_the_bore_nearly_cuts_the_pipe():
    # Benade, Fundamentals of Musical Acoustics (1976), chapter 21 (from memory): the wider the hole, the nearer
    # the note to that of a pipe sawn off there, which it never passes. Thin wall: within a semitone at full width.
    sawn = resonances(make_duct([(0, 7.5), (300, 7.5)]))[0]
    holes = (make_holes([300], [radius], [1], [8.5]) for radius in (1.5, 3.0, 4.5, 6.0, 7.4))
    found = [cents(resonances(make_duct([(0, 7.5), (500, 7.5)], row, 1.0), (1,))[0], sawn) for row in holes]
    assert np.all(np.diff(found) > 0.0)
    assert -100.0 < found[-1] < 0.0
    assert found[0] < -200.0


def test_a_closed_hole_without_volume_is_no_hole():
    bare, speck = (make_duct([(0, 2.0), (600, 7.4)], holes) for holes in (None, make_holes([300], [0.01], [0.01], [9])))
    assert np.max(np.abs(cents(resonances(speck, (0,)), resonances(bare)))) < 1e-4


def test_step_inertance_can_be_differentiated():
    # Neither a step nor its absence may turn a gradient into NaN.
    def total(radius):
        bore = Bore(np.array([0.0, 0.1, 0.1, 0.2]), radius)
        return np.sum(step_inertance(bore, np.array([0.05, 0.1]), AIR))

    radius, step = np.array([3e-3, 3e-3, 5e-3, 5e-3]), 1e-9 * np.eye(4)
    expected = [(total(radius + moved) - total(radius - moved)) / 2e-9 for moved in step]
    assert np.max(np.abs(expected)) > 0.0
    assert total(Dual(radius, np.eye(4))).slope == pytest.approx(
        expected, rel=1e-4, abs=1e-4 * np.max(np.abs(expected))
    )
