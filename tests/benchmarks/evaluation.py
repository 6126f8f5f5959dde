"""How long the acoustics take: every tier side by side, values and slopes, one duct and batches, one core and all.

Run on an idle machine: `.venv/bin/python tests/benchmarks/evaluation.py`. Prints whole charts of the tenor a second,
with external interaction, as ratios to the NumPy tier of the same run; what a chart costs a solve; and how far the
kernel is from this core's limit: operations counted in the formulas and in the network, at the speed of the core's own
matrix product and exponential function.
"""

import argparse
import os
import platform
import threading
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ[name] = "1"

import numpy as np

from acoustics import kernel
from acoustics.chain import Chain, chain_of
from acoustics.chart_elements import Notes, notes_of
from acoustics.charts import chart_errors
from acoustics.kernel.generate import Element, all_elements, needed_by
from acoustics.network import as_arrays, stacked
from acoustics.resonances import moved_errors
from optimizer.geometry.measured_layout import Geometry
from optimizer.project.loading import load_project
from optimizer.solving.problem import Problem

PROJECT = Path(__file__).parents[2] / "configs" / "lantern-tenor.toml"
WORTH = {"add": 1, "sub": 1, "mul": 1, "neg": 0, "div": 1, "sqrt": 1, "max": 1, "min": 1}
DEAR = ("exp", "log", "sin", "cos")


def seconds(work: Callable[[], object], least: float = 0.4) -> float:
    """Least time of one call [s], tried for at least so long."""
    work()
    best, begun = np.inf, time.perf_counter()
    while time.perf_counter() - begun < least:
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return best


def processor() -> str:
    """What the processor calls itself."""
    try:
        lines = Path("/proc/cpuinfo").read_text().splitlines()
    except OSError:
        return platform.processor() or platform.machine()
    return next((line.split(":")[1].strip() for line in lines if line.startswith("model name")), platform.machine())


def random_points(problem: Problem, count: int) -> np.ndarray:
    """Points (count, n) in the middle of the bounds, all different."""
    low, high = problem.parametrisation.low, problem.parametrisation.high
    return low + (high - low) * np.random.default_rng(1).uniform(0.3, 0.7, (count, low.size))


def part(chain: Chain, count: int) -> Chain:
    """The first ducts of a batch."""
    return chain._replace(vector=chain.vector[:count], hole=chain.hole[:count])


def kernel_seconds(chain: Chain, notes: Notes, slopes: bool, variant: str) -> float:
    """Time of one chart in a batch [s]."""
    return seconds(lambda: kernel.chart_errors(chain, notes, slopes, True, variant)) / len(chain.vector)


def tier_table(chain: Chain, notes: Notes, batches: list[int]) -> None:
    """Charts a second of every tier, and the ratio to NumPy."""
    one = chain._replace(vector=chain.vector[0], hole=chain.hole[0])
    base = [seconds(lambda slopes=slopes: chart_errors(one, notes, slopes)) for slopes in (False, True)]
    print(f"{'tier':<16}{'ducts at once':>14}{'values /s':>12}{'ratio':>8}{'with slopes /s':>16}{'ratio':>8}")
    print(f"{'numpy':<16}{1:>14}{1 / base[0]:>12.0f}{1:>8}{1 / base[1]:>16.0f}{1:>8}")
    for variant in kernel.variants():
        for count in batches:
            found = [kernel_seconds(part(chain, count), notes, slopes, variant) for slopes in (False, True)]
            cells = "".join(
                f"{1 / took:>{wide}.0f}{first / took:>8.1f}"
                for took, first, wide in zip(found, base, (12, 16), strict=True)
            )
            print(f"{'kernel-' + variant:<16}{count:>14}{cells}")


def all_cores(chain: Chain, notes: Notes, variant: str) -> float:
    """Charts a second of as many threads as there are cores, values by batch."""
    cores, rounds = os.cpu_count() or 1, 20

    def work() -> None:
        for _ in range(rounds):
            kernel.chart_errors(chain, notes, False, True, variant)

    best = np.inf
    for _ in range(3):
        threads = [threading.Thread(target=work) for _ in range(cores)]
        start = time.perf_counter()
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        best = min(best, time.perf_counter() - start)
    return cores * rounds * len(chain.vector) / best


def operations(element: Element) -> Counter[str]:
    """Operations of one evaluation of an element's values."""
    needed = needed_by(element.graph, [node for row in element.rows(False) for node in row])
    return Counter(element.graph.nodes[node][0] for node in needed)


def limit(chain: Chain, notes: Notes) -> tuple[float, float]:
    """Floating-point operations and transcendental functions of one chart's values, counted."""
    m, h, k, n = chain.sizes.stations, chain.sizes.holes, notes.nodes.size, len(notes.openness)
    opened = (notes.openness > 0.0).sum(axis=1) + 1.0
    pairs = float(np.sum(opened * (opened - 1.0) / 2.0))
    times = {
        "segment": m * k, "closed_hole": h * k, "open_hole": h * k, "bell": 2 * n, "lumped_reed": 2 * n,
        "pair": pairs, "own": float(opened.sum() - n),
    }  # fmt: skip
    counted: Counter[str] = Counter()
    for element in all_elements():
        for name, count in operations(element).items():
            counted[name] += count * times.get(element.name, 0)
    between = 2.0 * k * (8 * m + 2 * h) * 2 * n + 2.0 * k * 4 * h * n
    sweeps = (32 + 16) * m * 3 * n + 24 * h * 3 * n
    solving = float(np.sum(8.0 * opened**3 / 3.0 + 32.0 * opened**2))
    flops = sum(counted[name] * worth for name, worth in WORTH.items()) + between + sweeps + solving
    return flops, float(sum(counted[name] for name in DEAR))


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--batches", type=int, nargs="*", default=[1, 16, 64, 256])
    batches = options.parse_args().batches
    problem = Problem(load_project(PROJECT))
    points = random_points(problem, max(batches))
    chain = chain_of(as_arrays(stacked([problem.duct_at(x) for x in points])))
    notes = notes_of(problem.openness, problem.f_target)
    print(f"{processor()}; {chain.sizes.holes} holes, {len(notes.openness)} fingerings, {points.shape[1]} free numbers")
    tier_table(chain, notes, batches)
    at = Geometry(problem.parametrisation.moving(points[0], problem.choice), problem.constraints.fixed)
    duct = problem._sounding(at)
    took = seconds(lambda: moved_errors(duct, problem.openness, problem.f_target))
    print(f"errors with slopes by the {points.shape[1]} free numbers, from the duct on: {1e3 * took:.2f} ms")
    if kernel.variants():
        best, few = kernel.variants()[-1], part(chain, min(64, max(batches)))
        print(f"all cores, kernel-{best}, {len(few.vector)} at once: {all_cores(few, notes, best):.0f} /s")
    flops, functions = limit(chain, notes)
    square, row = np.ones((400, 400)), np.linspace(0.1, 1.0, 4096)
    rate = 2.0 * 400**3 / seconds(lambda: square @ square)
    each = seconds(lambda: np.exp(row)) / row.size
    ideal = flops / rate + functions * each
    print(
        f"a chart's values: {flops / 1e6:.2f} Mflop at {rate / 1e9:.1f} Gflop/s and {functions:.0f} transcendental "
        f"functions at {1e9 * each:.1f} ns: {1e6 * ideal:.0f} microseconds at the core's limit"
    )


if __name__ == "__main__":
    main()
