"""How long the acoustics take: external interaction against the plain chain, slopes against values, batches.

Run on an idle machine, `.venv/bin/python tests/benchmarks/evaluation.py`; on a processor everything runs on one core.
Prints ratios measured side by side in one run, and layouts per second for batches of the given sizes, each a whole
chart of the tenor. On an accelerator the same code runs there, in float64.
"""

import argparse
import os
import time
from collections.abc import Callable
from pathlib import Path

if hasattr(os, "sched_setaffinity") and not os.environ.get("HOLEWRIGHT_ALL_CORES"):
    os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})  # before JAX counts the cores

import jax
import jax.numpy as jnp
import numpy as np

from acoustics.charts import chain_errors
from acoustics.network import Duct
from acoustics.resonances import chart_errors, note_errors
from optimizer.problem import Problem
from optimizer.project_file import load_project

PROJECT = Path(__file__).parents[2] / "configs" / "lantern-tenor.toml"


def seconds(work: Callable[[], object], rounds: int = 7) -> float:
    """Least time of one call after a first one that compiles [s]."""
    jax.block_until_ready(work())
    best = np.inf
    for _ in range(rounds):
        start = time.perf_counter()
        jax.block_until_ready(work())
        best = min(best, time.perf_counter() - start)
    return best


def random_points(problem: Problem, count: int) -> np.ndarray:
    """Points (count, n) in the middle of the bounds, all different."""
    low, high = problem.parametrisation.low, problem.parametrisation.high
    return low + (high - low) * np.random.default_rng(1).uniform(0.3, 0.7, (count, low.size))


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--batches", type=int, nargs="*", default=[1, 16, 64, 256])
    batches = options.parse_args().batches
    problem = Problem(load_project(PROJECT))
    openness, target = problem.openness, jnp.asarray(problem.f_target)
    one = random_points(problem, 1)[0]
    duct = problem.duct(problem.layout(one))
    print(
        f"{jax.devices()[0].device_kind}; {duct.holes.position.size} holes, {target.size} fingerings, {one.size} free"
    )
    _ratios(problem, duct, openness, target, one)
    chart = jax.jit(jax.vmap(lambda x: _chart(problem, x)))
    for count in batches:
        points = jnp.asarray(random_points(problem, count))
        spent = seconds(lambda points=points: chart(points))
        print(
            f"with interaction, batch {count:6d}: {count / spent:10.0f} layouts/s, {spent / count * 1e6:8.1f} us each"
        )
    chain = jax.jit(lambda x: chain_errors(_ducts(problem, x), openness, problem.f_target))
    for count in batches:
        points = jnp.asarray(random_points(problem, count))
        spent = seconds(lambda points=points: chain(points))
        print(
            f"plain chain,      batch {count:6d}: {count / spent:10.0f} layouts/s, {spent / count * 1e6:8.1f} us each"
        )
    slopes = jax.jit(
        jax.vmap(jax.jacfwd(lambda x: chain_errors(_ducts(problem, x[None]), openness, problem.f_target)[0]))
    )
    points = jnp.asarray(random_points(problem, 64))
    ratio = seconds(lambda: slopes(points), 3) / seconds(lambda: chain(points))
    print(f"plain chain, batch 64: full Jacobian by x takes {ratio:.1f} times the values")


def _ducts(problem: Problem, points: jax.Array) -> Duct:
    found: Duct = jax.vmap(lambda x: problem.duct(problem.parametrisation.layout(x)))(points)
    return found


def _chart(problem: Problem, x: jax.Array) -> jax.Array:
    duct = problem.duct(problem.layout(x))
    return chart_errors(duct, problem.openness, jnp.asarray(problem.f_target))


def _ratios(problem: Problem, duct: Duct, openness: np.ndarray, target: jax.Array, one: np.ndarray) -> None:
    def slopes(interaction: bool) -> Callable[[], object]:
        return lambda: note_errors(duct, openness, target, interaction=interaction)

    whole, chain = seconds(slopes(True)), seconds(slopes(False))
    print(
        f"errors and slopes: {1e3 * whole:.1f} ms with interaction, {1e3 * chain:.1f} ms without; {whole / chain:.2f}"
    )
    value = seconds(lambda: chart_errors(duct, openness, target))
    full = seconds(lambda: problem.evaluate(one))
    print(f"values alone: {1e3 * value:.1f} ms; with the full Jacobian: {1e3 * full:.1f} ms; {full / value:.1f}")


if __name__ == "__main__":
    main()
