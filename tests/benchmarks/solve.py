"""One constrained solve: how long it takes on one core, and how far from its own limit it stops.

`.venv/bin/python tests/benchmarks/solve.py --solves 30`. Random emphases, choices and starts of the tenor. Each
is solved as the search does, and again with a far finer stop and many more steps: that is its limit.
"""

import argparse
import os
import time
from pathlib import Path

os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})  # before NumPy counts the cores

import numpy as np
import optuna

from optimizer.project.loading import load_project
from optimizer.search.proposals import Questions
from optimizer.search.trial import Solver
from optimizer.solving.problem import Problem
from optimizer.solving.refine import refine

PROJECT = Path(__file__).parents[2] / "configs" / "lantern-tenor.toml"


def tuning_cents(problem: Problem, x: np.ndarray) -> float:
    """Weighted root mean square error of the notes [cents]."""
    errors = problem.evaluate(x)[0].errors
    return float(np.sqrt(np.sum(problem.weight * errors**2) / np.sum(problem.weight)))


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--solves", type=int, default=30)
    options.add_argument("--project", type=Path, default=PROJECT)
    chosen = options.parse_args()
    optuna.logging.set_verbosity(optuna.logging.ERROR)
    loaded = load_project(chosen.project)
    solver, questions = Solver(loaded.text, loaded.source), Questions(loaded.project, loaded.notes, 1)
    study = optuna.create_study(
        directions=["minimize"] * len(questions.names), sampler=optuna.samplers.RandomSampler(seed=1)
    )
    solver.settled(questions.asked(study.ask(), []))  # read the project
    spent, apart, steps = [], [], []
    for _ in range(chosen.solves):
        proposal = questions.asked(study.ask(), [])
        begun = time.perf_counter()
        problem, outcome = solver.settled(proposal)
        spent.append(time.perf_counter() - begun)
        steps.append(outcome.steps)
        limit = refine(problem, outcome.x, proposal.emphasis, max_steps=400, tolerance=1e-9)
        apart.append(abs(tuning_cents(problem, outcome.x) - tuning_cents(problem, limit.x)))
    print(f"{loaded.project.instrument.name}: {chosen.solves} solves on one core, median {np.median(spent):.2f} s, "
          f"nine in ten within {np.quantile(spent, 0.9):.2f} s; median {np.median(steps):.0f} steps")  # fmt: skip
    print(f"from their own limit: median {np.median(apart):.3f} cent RMS, nine in ten within "
          f"{np.quantile(apart, 0.9):.3f}; {np.mean(np.array(apart) <= 0.1):.0%} within 0.1 cent")  # fmt: skip


if __name__ == "__main__":
    main()
