"""Traces kept between runs: the same values, no second trace, nothing taken from another project or a broken file.

Checked against JAX's own `jit` of the same functions.
"""

from typing import NamedTuple

import jax
import jax.numpy as jnp
import numpy as np
import pytest
from shelf import PIPE, pipe

from acoustics.staging import open_store, staged
from optimizer.compiled_code import Traces, keep_compiled_code, make_room_for_code, mark_of


class Pair(NamedTuple):
    first: jax.Array
    second: jax.Array


@pytest.fixture
def folder(tmp_path):
    """A store in a folder, open for one test."""
    open_store(Traces(tmp_path))
    yield tmp_path
    keep_compiled_code()


def counted():
    """A function that counts how often it is traced, and the counts."""
    traces = []

    def turned(pair, turns, *, power=1):
        traces.append(power)
        return Pair(pair.first * turns**power, {"sum": jnp.sum(pair.second)})

    return turned, traces


ARGUMENTS = Pair(np.array([1.0, 2.0]), np.array([3.0, 4.0, 5.0])), 2.0


def agree(found, wanted):
    assert jax.tree.structure(found) == jax.tree.structure(wanted)
    for one, other in zip(jax.tree.leaves(found), jax.tree.leaves(wanted), strict=True):
        np.testing.assert_array_equal(one, other)


def test_the_values_are_those_of_jit_and_a_second_run_traces_nothing(folder):
    function, traces = counted()
    wanted = jax.jit(function, static_argnames=("power",))(*ARGUMENTS, power=3)
    traces.clear()
    agree(staged(static=("power",))(function)(*ARGUMENTS, power=3), wanted)
    assert traces == [3]
    agree(staged(static=("power",))(function)(*ARGUMENTS, power=3), wanted)
    assert traces == [3]


def test_another_shape_number_or_project_is_traced_for_itself(folder):
    function, traces = counted()
    call = staged(static=("power",), closes_over="one")(function)
    call(*ARGUMENTS, power=1)
    call(*ARGUMENTS, power=2)
    call(Pair(np.ones(5), np.ones(3)), 2.0, power=1)
    staged(static=("power",), closes_over="other")(function)(*ARGUMENTS, power=1)
    assert traces == [1, 2, 1, 1]
    assert len(list(folder.iterdir())) == 4


def test_two_functions_of_one_name_on_one_line_keep_apart(folder):
    double, triple = staged()(lambda x: 2.0 * x), staged()(lambda x: 3.0 * x)  # fmt: skip
    assert (float(double(1.0)), float(triple(1.0))) == (2.0, 3.0)
    assert len(list(folder.iterdir())) == 2


def test_what_cannot_be_exported_is_compiled_all_the_same(folder):
    told = []
    call = staged()(lambda x: (jax.debug.callback(told.append, x), 2.0 * x)[1])
    assert float(call(1.0)) == 2.0
    assert list(folder.iterdir()) == []


def test_slopes_go_through_a_staged_function(folder):
    square = staged()(lambda x: jnp.sum(x**2))
    np.testing.assert_allclose(jax.grad(square)(jnp.array([1.0, -3.0])), [2.0, -6.0], rtol=1e-15)


def test_a_broken_file_is_written_anew(folder):
    function, traces = counted()
    staged()(function)(*ARGUMENTS)
    (kept,) = folder.iterdir()
    whole = kept.read_bytes()
    kept.write_bytes(whole[: len(whole) // 2])
    traces.clear()
    agree(staged()(function)(*ARGUMENTS), jax.jit(function)(*ARGUMENTS))
    assert traces
    traces.clear()
    staged()(function)(*ARGUMENTS)
    assert traces == []


def test_without_a_folder_to_write_to_it_only_traces(tmp_path):
    (tmp_path / "file").write_text("")
    open_store(Traces(tmp_path / "file" / "below"))
    try:
        agree(staged()(counted()[0])(*ARGUMENTS), jax.jit(counted()[0])(*ARGUMENTS))
    finally:
        keep_compiled_code()


def test_two_projects_of_one_shape_keep_their_own_traces(folder):
    from optimizer.problem import Problem

    thick = pipe(PIPE.replace("wall_mm = 4", "wall_mm = 5"))
    assert mark_of(thick.project) != mark_of(pipe(PIPE).project)
    first, second = Problem(pipe(PIPE)), Problem(thick)
    x = 0.5 * (first.parametrisation.low + first.parametrisation.high)
    found = [one.duct_at(x).holes.body_radius for one in (first, second)]
    np.testing.assert_allclose(found[1] - found[0], 1e-3, rtol=1e-9)


def test_compiled_code_is_let_go_of_when_a_process_holds_too_much():
    double = jax.jit(lambda x: 2.0 * x)
    double(1.0)
    assert double._cache_size() == 1
    make_room_for_code()
    assert double._cache_size() == 1
    make_room_for_code(most=0)
    assert double._cache_size() == 0
    assert float(double(3.0)) == 6.0
