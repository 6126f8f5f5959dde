"""Forward duals: every rule against differences of NumPy's own functions, dispatch, and shapes."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays

from acoustics.duals import FUNCTIONS, UFUNCS, Dual, chained, slopes_of, value_of, variables, with_rate

STEP = 1e-6
DIRECTIONS = 3


def moved(shape, seed, low, high):
    """An array, and ways to move it (P, ...)."""
    dice = np.random.default_rng(seed)
    return dice.uniform(low, high, shape), dice.normal(size=(DIRECTIONS, *shape))


def differences(function, *pairs):
    """Slopes of a function of (array, ways) by central differences, (P, ...); ways None: it stays."""

    def at(direction, step):
        return function(*(x if ways is None else x + step * ways[direction] for x, ways in pairs))

    return np.stack([(at(p, STEP) - at(p, -STEP)) / (2.0 * STEP) for p in range(DIRECTIONS)])


def agrees(function, *pairs):
    """The same value as without slopes, and the slopes that differences find; errors of 1e-12 f''' + 1e-10 f."""
    found = function(*(x if ways is None else Dual(x, ways) for x, ways in pairs))
    np.testing.assert_allclose(value_of(found), function(*(x for x, _ in pairs)), rtol=1e-14, atol=1e-14)
    np.testing.assert_allclose(slopes_of(found, DIRECTIONS), differences(function, *pairs), rtol=1e-6, atol=1e-7)


ALONE = {
    np.negative: (-2, 2), np.square: (-2, 2), np.sqrt: (0.2, 3), np.exp: (-2, 2), np.expm1: (-2, 2), np.log: (0.2, 3),
    np.log2: (0.2, 3), np.sin: (-4, 4), np.cos: (-4, 4), np.tanh: (-2, 2), np.sinh: (-2, 2), np.cosh: (-2, 2),
    np.arcsin: (-0.9, 0.9), np.arctan: (-3, 3), np.abs: (-2, 2), np.radians: (-200, 200),
}  # fmt: skip
"""Functions of one array, and where they are looked at."""

PAIRED = (np.add, np.subtract, np.multiply, np.true_divide, np.maximum, np.minimum)
COMPARED = (np.greater, np.greater_equal, np.less, np.less_equal)
TOLD = (np.isinf, np.isnan)
OTHERS = (np.power, np.remainder)


def test_every_rule_is_looked_at_here():
    assert set(UFUNCS) == {*ALONE, *PAIRED, *COMPARED, *TOLD, *OTHERS}
    assert set(FUNCTIONS) == {*(function for function, _, _ in SHAPED.values()), np.shape, np.ndim, np.size}


@pytest.mark.parametrize("function", ALONE, ids=lambda one: one.__name__)
@pytest.mark.parametrize("shape", [(), (5,), (2, 3)], ids=str)
def test_a_function_of_one_array(function, shape):
    agrees(function, moved(shape, 1, *ALONE[function]))


@pytest.mark.parametrize("function", PAIRED, ids=lambda one: one.__name__)
@pytest.mark.parametrize(
    "shapes", [((4,), (4,)), ((3, 1), (4,)), ((), (2, 3)), ((2, 3), ()), ((2, 1), (1, 3))], ids=str
)
def test_a_function_of_two_arrays(function, shapes):
    first, second = (moved(shape, seed, 0.5, 2.0) for seed, shape in enumerate(shapes))
    agrees(function, first, second)
    agrees(function, first, (second[0], None))
    agrees(function, (first[0], None), second)


@pytest.mark.parametrize("exponent", [2, 3, 0.5, -1.3])
def test_a_power(exponent):
    agrees(lambda x: x**exponent, moved((4,), 2, 0.5, 2.0))
    agrees(lambda x: np.power(x, exponent), moved((4,), 2, 0.5, 2.0))


def test_a_remainder():
    agrees(lambda x: np.remainder(x, 2.0 * np.pi), moved((6,), 3, -20.0, 20.0))
    agrees(lambda x: np.mod(x + np.pi, 2.0 * np.pi) - np.pi, moved((6,), 4, -20.0, 20.0))


@pytest.mark.parametrize("function", [np.exp, np.sqrt, np.sinh, np.cosh, np.square, np.tanh, np.log, np.sin, np.cos])
def test_a_function_of_complex_arrays(function):
    # An analytic function's slope along a complex way is the complex difference along it.
    (real, ways), (imaginary, more) = moved((4,), 5, 0.5, 1.5), moved((4,), 6, 0.5, 1.5)
    agrees(function, (real + 1j * imaginary, ways + 1j * more))


def test_real_and_imaginary_parts():
    (x, ways), (y, more) = moved((4,), 7, -1, 1), moved((4,), 8, -1, 1)
    pair = x + 1j * y, ways + 1j * more
    agrees(lambda z: (z * z / (1.0 + z)).real, pair)
    agrees(lambda z: (z * z / (1.0 + z)).imag, pair)
    agrees(lambda z: (2.0 * z).imag, (x, ways))


@given(st.integers(0, 10**6))
def test_a_long_formula(seed):
    # Everything at once, against the complex step, which knows the slope of an analytic formula to rounding.
    dice = np.random.default_rng(seed)
    x, y = dice.uniform(0.5, 2.0, (3, 1)), dice.uniform(0.5, 2.0, 4)
    ways = dice.normal(size=(2, 3, 1)), dice.normal(size=(2, 4))

    def formula(x, y):
        z = np.sqrt(x * x + y) / (1.0 + np.exp(-x)) - 3.0 / y**1.5
        return np.sum(np.sin(z) * y + 2.0 * np.log(x) * z, axis=-1)

    found = formula(Dual(x, ways[0]), Dual(y, ways[1]))
    step = np.stack([formula(x + 1e-30j * ways[0][p], y + 1e-30j * ways[1][p]).imag / 1e-30 for p in range(2)])
    np.testing.assert_allclose(found.value, formula(x, y), rtol=1e-14, atol=1e-14)
    np.testing.assert_allclose(found.slope, step, rtol=1e-11, atol=1e-11)


def test_comparisons_are_those_of_the_values():
    x, y = np.array([1.0, 2.0, 3.0]), np.array([3.0, 2.0, 1.0])
    for function in COMPARED:
        expected = function(x, y).tolist()
        assert function(Dual(x, np.ones((2, 3))), y).tolist() == expected
        assert function(x, Dual(y, np.ones((2, 3)))).tolist() == expected
    one, other = Dual(x, np.ones((2, 3))), Dual(y, np.ones((2, 3)))
    assert [(one < other).tolist(), (one <= other).tolist()] == [[True, False, False], [True, True, False]]
    assert [(one > other).tolist(), (one >= other).tolist()] == [[False, False, True], [False, True, True]]
    bad = Dual(np.array([1.0, np.inf, np.nan]), np.ones((2, 3)))
    assert [np.isinf(bad).tolist(), np.isnan(bad).tolist()] == [[False, True, False], [False, False, True]]


INDEX = np.array([2, 0, 2])
SHAPED = {
    "where": (np.where, lambda x, y: np.where(np.arange(4) % 2 == 0, x, y), ((4,), (4,))),
    "where, one number": (np.where, lambda x, y: np.where(np.arange(4) % 2 == 0, x, y), ((), (4,))),
    "where, all": (np.where, lambda x, y: np.where(np.ones(4, bool), x, y), ((), (4,))),
    "where, none": (np.where, lambda x, y: np.where(np.zeros(4, bool), x, y), ((), (4,))),
    "clip": (np.clip, lambda x, y: np.clip(x, 0.8, 1.4) * y, ((6,), (6,))),
    "concatenate": (np.concatenate, lambda x, y: np.concatenate([x, y, [1.0]]), ((2,), (3,))),
    "concatenate, last axis": (np.concatenate, lambda x, y: np.concatenate([x, y], axis=-1), ((2, 3), (2, 1))),
    "stack": (np.stack, lambda x, y: np.stack([x, np.ones(3), y]), ((3,), (3,))),
    "stack, last axis": (np.stack, lambda x, y: np.stack([x, y], axis=-1), ((3,), (3,))),
    "append": (np.append, lambda x, y: np.append(x, y), ((2, 2), ())),
    "ravel": (np.ravel, lambda x, y: np.ravel(x * y), ((2, 3), ())),
    "reshape": (np.reshape, lambda x, y: np.reshape(x * y, (3, 2)), ((6,), ())),
    "atleast_1d": (np.atleast_1d, lambda x, y: np.atleast_1d(x) + np.atleast_1d(y), ((), (3,))),
    "broadcast_to": (np.broadcast_to, lambda x, y: np.broadcast_to(x, (2, 3)) * y, ((3,), (2, 3))),
    "tile": (np.tile, lambda x, y: np.tile(x, 2) * y, ((3,), (6,))),
    "sum": (np.sum, lambda x, y: np.sum(x * y), ((2, 1), (3,))),
    "sum, first axis": (np.sum, lambda x, y: np.sum(x * y, axis=0), ((2, 1), (3,))),
    "sum, last axis": (np.sum, lambda x, y: np.sum(x * y, axis=-1), ((2, 1), (3,))),
    "min": (np.min, lambda x, y: np.min(x * y), ((2, 3), ())),
    "min, last axis": (np.min, lambda x, y: np.min(x * y, axis=-1, keepdims=True), ((2, 3), ())),
    "max": (np.max, lambda x, y: np.max(x * y), ((2, 3), ())),
    "max, first axis": (np.max, lambda x, y: np.max(x * y, axis=0), ((2, 3), ())),
    "take_along_axis": (
        np.take_along_axis, lambda x, y: np.take_along_axis(x * y, np.array([[2, 0], [1, 1]]), axis=-1), ((2, 3), ())
    ),
}  # fmt: skip
"""Functions that move numbers about: the function, what is made with it, and the shapes of what it is made of."""


@pytest.mark.parametrize("name", SHAPED)
def test_a_function_that_moves_numbers_about(name):
    _, made, shapes = SHAPED[name]
    first, second = (moved(shape, seed, 0.5, 2.0) for seed, shape in enumerate(shapes))
    agrees(made, first, second)
    agrees(made, first, (second[0], None))
    agrees(made, (first[0], None), second)


@pytest.mark.parametrize(
    "index",
    [1, -1, slice(1, None), INDEX, INDEX > 0, (INDEX, 1), (slice(None), INDEX), (..., None), (None, slice(2), 0)],
    ids=str,
)
def test_parts_of_an_array(index):
    agrees(lambda x: x[index], moved((3, 4) if isinstance(index, tuple) else (3,), 9, -1, 1))


@pytest.mark.parametrize("index", [INDEX, slice(1, 3), (slice(None), 1)], ids=str)
def test_parts_of_what_only_some_axes_move(index):
    # The slopes of x alone do not know y's axis; a part along it must.
    agrees(lambda x: (x + np.arange(12.0).reshape(3, 4))[index], moved((4,), 10, -1, 1))
    agrees(lambda x: (x * np.ones((3, 4)))[index], moved((), 11, -1, 1))


def test_products_with_a_constant_matrix():
    matrix = np.random.default_rng(12).normal(size=(4, 2))
    agrees(lambda x: x @ matrix, moved((4,), 13, -1, 1))
    agrees(lambda x: (x + np.zeros(4)) @ matrix, moved((), 14, -1, 1))


def test_the_shape_of_a_dual_is_its_values():
    item = Dual(np.ones((2, 3)), np.ones((5, 2, 3)))
    assert (np.shape(item), np.ndim(item), np.size(item), len(item)) == ((2, 3), 2, 6, 2)
    assert (item.shape, item.ndim, item.size) == ((2, 3), 2, 6)
    assert slopes_of(item.reshape(3, 2), 5).shape == (5, 3, 2)
    assert slopes_of(item.ravel(), 5).shape == (5, 6)


@given(arrays(float, array_shapes(max_dims=3), elements=st.floats(-2, 2)))
def test_slopes_have_the_shape_of_the_values_behind_their_number(x):
    one, other = variables([x, x])
    for found in (one + 1.0, one * other, -one, one[..., None] + np.ones(2), np.sum(one * x, axis=-1)):
        assert slopes_of(found, 2).shape == (2, *found.shape)


def test_variables_move_one_by_one():
    x, y = np.array([1.0, 2.0]), np.array([3.0, 4.0])
    one, other = variables([x, y])
    product = one * other
    assert product.value.tolist() == [3.0, 8.0]
    assert product.slope.tolist() == [y.tolist(), x.tolist()]
    assert slopes_of(x, 2).tolist() == [[0.0, 0.0], [0.0, 0.0]]
    assert value_of(one).tolist() == x.tolist()
    assert value_of(x) is x


def test_a_function_with_its_rate_in_closed_form():
    cube = with_rate(lambda x, y: 3.0 * y / x)(lambda x: x**3)
    agrees(cube, moved((4,), 15, 0.5, 2.0))
    assert cube(2.0) == 8.0


def test_the_chain_rule_with_known_rates():
    (x, ways), (y, more) = moved((4,), 16, 0.5, 2.0), moved((), 17, 0.5, 2.0)
    agrees(lambda a, b: chained(value_of(a) ** 2 * value_of(b), (2.0 * x * y, a), (x**2, b)), (x, ways), (y, None))
    both = chained(x**2 * y, (2.0 * x * y, Dual(x, ways)), (x**2, Dual(y, more)))
    np.testing.assert_allclose(both.slope, (Dual(x, ways) ** 2 * Dual(y, more)).slope, rtol=1e-14)
    assert chained(x, (y, x)) is x


def test_what_has_no_rule_is_refused():
    item = Dual(np.ones(3), np.ones((1, 3)))
    for call in (
        np.floor,
        np.cumsum,
        np.fft.fft,
        lambda one: np.add.reduce(one),
        lambda one: np.add(one, 1.0, out=one),
    ):
        with pytest.raises(TypeError):
            call(item)


def test_choices_leave_no_trace_of_what_was_not_chosen():
    # An infinite slope on the side that is not taken does not spoil the other.
    with np.errstate(divide="ignore"):
        root = np.sqrt(Dual(np.array([0.0, 4.0]), np.ones((1, 2))))
    assert np.maximum(root, 1.0).slope.tolist() == [[0.0, 0.25]]
    assert np.where(np.array([False, True]), root, 0.0).slope.tolist() == [[0.0, 0.25]]
