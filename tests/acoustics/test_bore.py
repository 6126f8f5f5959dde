"""Transfer matrices of cylinders and cones against closed forms, an ODE solver and a network library."""

import numpy as np
import pytest
import scipy
from ducts import axial_length
from formulas import as_array
from hypothesis import given
from hypothesis import strategies as st

from acoustics.air import air
from acoustics.bore import SLICE_RATIO, Bore, Matrix, interval_line, radius_at, slice_positions
from acoustics.bore import segment_matrix as matrix

AIR = air(20.0)
C, RHO = float(AIR.c), float(AIR.rho)


def scaled(m: np.ndarray, z: float) -> np.ndarray:
    """Matrix with B and C made dimensionless by an impedance."""
    return m * np.array([[1.0, 1.0 / z], [z, 1.0]])


def apex_geometry(r1: float, r2: float, length: float) -> tuple[float, float]:
    """Axial length and slope of a cone given by its length along spherical waves."""
    axial = axial_length(r1, r2, length)
    return axial, (r2 - r1) / axial


def lossless_cone(f: float, r1: float, r2: float, length: float) -> np.ndarray:
    """Spherical waves from the apex, p = exp(-+ jkx) / x; closed form of any acoustics textbook."""
    k, x1 = 2.0 * np.pi * f / C, r1 * length / (r2 - r1)
    x2, kl = x1 + length, k * length
    a = x2 / x1 * np.cos(kl) - np.sin(kl) / (k * x1)
    d = x1 / x2 * np.cos(kl) + np.sin(kl) / (k * x2)
    b = 1j * RHO * C / (np.pi * r1 * r2) * np.sin(kl)
    return np.array([[a, b], [(a * d - 1.0) / b, d]])


def cone_chain(f: float, r1: float, r2: float, length: float, count: int) -> np.ndarray:
    """Product of count equally long lossy cones; length along spherical waves."""
    axial, slope = apex_geometry(r1, r2, length)
    starts = r1 + (r2 - r1) * np.arange(count) / count
    parts = as_array(matrix(f, starts, axial / count, slope, AIR))
    return np.linalg.multi_dot(parts) if count > 1 else parts[0]


def exact_lossy_cone(f: float, r1: float, r2: float, length: float) -> np.ndarray:
    """dp/dx = -Z u, du/dx = -Y p with Zwikker & Kosten's exact local Z and Y (SciPy's Bessel functions, DOP853)."""
    omega = 2.0 * np.pi * f
    viscosity, conductivity, heat, gamma = (float(item) for item in AIR[2:])

    def boundary(shear):
        x = shear * np.sqrt(-1j)
        return 2.0 * scipy.special.jve(1, x) / (x * scipy.special.jve(0, x))

    def slope(x, state):
        radius = r1 + (r2 - r1) * x / length
        area = np.pi * radius**2
        series = 1j * omega * RHO / (area * (1.0 - boundary(radius * np.sqrt(omega * RHO / viscosity))))
        thermal = boundary(radius * np.sqrt(omega * RHO * heat / conductivity))
        shunt = 1j * omega * area / (RHO * C**2) * (1.0 + (gamma - 1.0) * thermal)
        p, u = state[:2], state[2:] / z
        return np.concatenate([-series * u, -shunt * p * z])

    z = RHO * C / (np.pi * r1 * r2)
    start = np.array([1.0, 0.0, 0.0, 1.0], complex)  # columns: p and z u at x = 0
    end = scipy.integrate.solve_ivp(slope, (length, 0.0), start, "DOP853", rtol=1e-11, atol=1e-13).y[:, -1]
    return np.array([[end[0], end[1] * z], [end[2] / z, end[3]]])


@pytest.mark.parametrize("f", [50.0, 440.0, 2000.0])
def test_lossless_cylinder_is_the_transmission_line(f):
    # cos kL, j Z sin kL: plane waves.
    k, z = 2.0 * np.pi * f / C, RHO * C / (np.pi * 7.5e-3**2)
    expected = np.array([[np.cos(0.5 * k), 1j * np.sin(0.5 * k)], [1j * np.sin(0.5 * k), np.cos(0.5 * k)]])
    found = scaled(as_array(matrix(f, 7.5e-3, 0.5, 0.0, AIR, lossless=True)), z)
    assert np.max(np.abs(found - expected)) < 1e-12


@pytest.mark.parametrize(("r1", "r2"), [(2e-3, 12e-3), (12e-3, 2e-3), (5e-3, 5.01e-3), (3e-3, 30e-3)])
@pytest.mark.parametrize("f", [50.0, 440.0, 2000.0])
def test_lossless_cone_is_the_spherical_wave_either_way_round(f, r1, r2):
    axial, slope = apex_geometry(r1, r2, 0.5)
    z = RHO * C / (np.pi * r1 * r2)
    found = scaled(as_array(matrix(f, r1, axial, slope, AIR, lossless=True)), z)
    expected = scaled(lossless_cone(f, r1, r2, 0.5), z)
    assert np.max(np.abs(found - expected)) < 1e-9  # C of the closed form loses digits where B is small


def test_converging_cone_is_the_diverging_one_reversed():
    # Reversing a reciprocal two-port swaps A and D.
    axial, slope = apex_geometry(2e-3, 12e-3, 0.5)
    forward, backward = matrix(440.0, 2e-3, axial, slope, AIR), matrix(440.0, 12e-3, axial, -slope, AIR)
    swapped = Matrix(backward.D, backward.B, backward.C, backward.A)
    for one, other in zip(forward, swapped, strict=True):
        assert complex(one) == pytest.approx(complex(other), rel=1e-12)


def test_worked_lossless_cone():
    # r = 2 to 12 mm over 0.5 m at 440 Hz and 20 degC; checked elsewhere by Magnus integration of the wave equation.
    axial, slope = apex_geometry(2e-3, 12e-3, 0.5)
    found = as_array(matrix(440.0, 2e-3, axial, slope, AIR, lossless=True))
    expected = np.array([[-2.84342422, -4242766.97j], [-5.75947118e-8j, -0.265749674]])
    assert np.max(np.abs(found / expected - 1.0)) < 1e-8


def test_worked_lossy_cone():
    # The same cone with local losses, from a fourth-order Magnus integration computed elsewhere.
    expected = np.array(
        [
            [-2.607541879 - 0.252498303j, -227675.784 - 4470956.728j],
            [-1.424707864e-8 - 7.242185478e-8j, -0.261100133 - 0.005468535j],
        ]
    )
    assert np.max(np.abs(exact_lossy_cone(440.0, 2e-3, 12e-3, 0.5) / expected - 1.0)) < 1e-5
    assert np.max(np.abs(cone_chain(440.0, 2e-3, 12e-3, 0.5, 256) / expected - 1.0)) < 1e-4


@pytest.mark.parametrize(
    ("radius", "length", "f", "a", "b", "c"),
    [
        (7.5e-3, 0.5, 220.0, -0.454224024263658 + 0.026427102540139j, -20537.2846791644 + 2097402.73288609j,
         -7.73705403e-9 + 3.78819867617e-7j),
        (2e-3, 0.1, 440.0, 0.6706998829 + 0.0239090283j, 1090887.100 + 24759571.331j,
         3.14689074e-10 + 2.22571139e-8j),
    ],
)  # fmt: skip
def test_worked_lossy_cylinders(radius, length, f, a, b, c):
    # Exact Bessel functions with 40 digits, 20 degC; computed elsewhere.
    found = as_array(matrix(f, radius, length, 0.0, AIR))
    assert np.max(np.abs(found / np.array([[a, b], [c, a]]) - 1.0)) < 1e-5


@given(
    f=st.floats(30.0, 5000.0),
    r1=st.floats(0.4e-3, 40e-3),
    slope=st.floats(-0.17, 0.17),
    share=st.floats(0.0, 1.0),
    lossless=st.booleans(),
)
def test_every_segment_is_reciprocal(f, r1, slope, share, lossless):
    # A D - B C = 1 holds for any passive reciprocal line, with and without losses.
    length = share * min(0.3, 0.8 * r1 / max(-slope, 1e-9))
    m = matrix(f, r1, length, slope, AIR, lossless=lossless)
    size = abs(complex(m.A * m.D)) + abs(complex(m.B * m.C))
    assert abs(complex(m.A * m.D - m.B * m.C) - 1.0) < 1e-11 * max(1.0, size)


@given(f=st.floats(30.0, 3000.0), r1=st.floats(2e-3, 10e-3), r2=st.floats(2e-3, 10e-3), share=st.floats(0.05, 0.95))
def test_splitting_a_lossless_segment_changes_nothing(f, r1, r2, share):
    # Spherical waves are exact on either piece.
    length, slope, z = 0.4, (r2 - r1) / 0.4, RHO * C / (np.pi * r1 * r2)
    whole = as_array(matrix(f, r1, length, slope, AIR, lossless=True))
    first = as_array(matrix(f, r1, share * length, slope, AIR, lossless=True))
    second = as_array(matrix(f, r1 + slope * share * length, (1.0 - share) * length, slope, AIR, lossless=True))
    assert np.max(np.abs(scaled(first @ second - whole, z))) < 1e-9


def test_splitting_a_lossy_cylinder_changes_nothing():
    # A uniform line has one propagation constant everywhere.
    whole = as_array(matrix(300.0, 3e-3, 0.4, 0.0, AIR))
    parts = as_array(matrix(300.0, 3e-3, 0.15, 0.0, AIR)) @ as_array(matrix(300.0, 3e-3, 0.25, 0.0, AIR))
    assert np.max(np.abs(parts / whole - 1.0)) < 1e-12


def test_a_segment_without_length_is_the_identity():
    for slope in (0.0, 0.1):
        assert as_array(matrix(300.0, 3e-3, 0.0, slope, AIR)) == pytest.approx(np.eye(2), abs=1e-15)


def test_a_nearly_straight_cone_meets_the_cylinder():
    # No apex distance to blow up: the difference is first order in the taper.
    straight, tapered = (as_array(matrix(300.0, 3e-3, 0.4, slope, AIR)) for slope in (0.0, 1e-13))
    assert np.max(np.abs(tapered / straight - 1.0)) < 1e-9


@pytest.mark.parametrize("f", [110.0, 440.0])
def test_lossy_slices_converge_with_order_two_to_the_wave_equation(f):
    # Mid-radius losses are a midpoint rule: doubling the slices divides the error by four.
    exact = scaled(exact_lossy_cone(f, 2e-3, 12e-3, 0.5), 1e7)
    counts = (16, 32, 64)
    errors = [np.max(np.abs(scaled(cone_chain(f, 2e-3, 12e-3, 0.5, count), 1e7) - exact)) for count in counts]
    assert np.log2(errors[0] / errors[1]) == pytest.approx(2.0, abs=0.15)
    assert np.log2(errors[1] / errors[2]) == pytest.approx(2.0, abs=0.15)


def test_a_chain_of_cylinders_is_the_cascade_of_a_network_library():
    # scikit-rf: lines of different characteristic impedance, cascaded as scattering matrices.
    import skrf

    f = np.linspace(60.0, 1500.0, 25)
    radii, lengths = np.array([2.5e-3, 4e-3, 7.5e-3, 3e-3]), np.array([0.05, 0.2, 0.15, 0.1])
    parts = as_array(matrix(f[:, None], radii[None], lengths[None], 0.0, AIR, lossless=True))
    found = parts[:, 0] @ parts[:, 1] @ parts[:, 2] @ parts[:, 3]
    frequency = skrf.Frequency.from_f(f, unit="hz")
    lines = []
    for radius, length in zip(radii, lengths, strict=True):
        z = RHO * C / (np.pi * radius**2)
        media = skrf.media.DefinedGammaZ0(frequency, z0=z, gamma=2j * np.pi * f / C)
        line = media.line(length, "m")
        line.renormalize(1e7)
        lines.append(line)
    expected = skrf.network.cascade_list(lines).a
    scale = np.array([[1.0, 1e-7], [1e7, 1.0]])
    assert np.max(np.abs((found - expected) * scale)) < 1e-9


def test_slices_keep_the_ratio_and_every_corner():
    position, radius = np.array([0.0, 0.05, 0.05, 0.4, 0.6]), np.array([2e-3, 2e-3, 3e-3, 12e-3, 5e-3])
    cuts = slice_positions(Bore(position, radius))
    assert set(position) <= set(cuts)
    assert np.all(np.diff(cuts) >= 0.0)
    inner = cuts[cuts >= 0.05]
    ratio = np.interp(inner[1:], position[2:], radius[2:]) / np.interp(inner[:-1], position[2:], radius[2:])
    assert np.max(np.abs(np.log(ratio))) <= np.log(SLICE_RATIO) * (1.0 + 1e-9)


def test_radius_follows_the_straight_lines_and_goes_on_beyond_the_end():
    # numpy.interp inside; beyond the last point the last line continues.
    bore = Bore(np.array([0.0, 0.1, 0.3]), np.array([2e-3, 4e-3, 5e-3]))
    s = np.linspace(0.0, 0.3, 31)
    assert radius_at(bore, s) == pytest.approx(np.interp(s, bore.position, bore.radius), rel=1e-12)
    assert float(radius_at(bore, 0.4)) == pytest.approx(5.5e-3, rel=1e-12)


def test_the_line_on_either_side_of_a_step_is_its_own():
    bore = Bore(np.array([0.0, 0.1, 0.1, 0.3]), np.array([2e-3, 2e-3, 4e-3, 5e-3]))
    start, radius, slope = interval_line(bore, np.array([0.05, 0.2]))
    assert start == pytest.approx([0.0, 0.1])
    assert radius == pytest.approx([2e-3, 4e-3])
    assert slope == pytest.approx([0.0, 5e-3])
