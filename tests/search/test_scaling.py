"""The simulation of the driver's queue, where the answer is known in closed form."""

import runpy

import numpy as np
import pytest
from places import TESTS

rate = runpy.run_path(str(TESTS / "benchmarks" / "scaling.py"))["trials_per_second"]


@pytest.mark.parametrize(("workers", "expected"), [(1, 1 / 1.1), (5, 5 / 1.1), (11, 10.0), (40, 10.0)])
def test_solves_of_one_length_fill_the_driver_at_eleven_workers(workers, expected):
    # A solve of 1 s and a driver of 0.1 s: a worker comes round every 1.1 s, and the driver serves 10 a second.
    assert rate(np.array([1.0]), 0.1, workers, 4000) == pytest.approx(expected, rel=1e-2)


@pytest.mark.parametrize("workers", [2, 8, 20])
def test_random_solves_match_the_mean_value_analysis(workers):
    # A machine-repair model with exponential solves of mean 1 s and constant service 0.1 s: its throughput lies above
    # that of exponential service, which mean value analysis gives exactly (Reiser & Lavenberg 1980), and below the
    # bounds of the deterministic case.
    solves = np.random.default_rng(2).exponential(1.0, 200_000)
    waiting = 0.0
    for count in range(1, workers + 1):
        response = 0.1 * (1.0 + waiting)
        throughput = count / (1.0 + response)
        waiting = throughput * response
    assert 0.98 * throughput <= rate(solves, 0.1, workers, 100_000) <= 1.01 * min(10.0, workers / 1.1)
