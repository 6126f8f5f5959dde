"""What a worker's memory does over a long run: one process that solves one proposal after another.

`.venv/bin/python tests/benchmarks/worker.py --trials 10000 [PROJECT]`. Proposals are asked of the search's own sampler
in this process; the worker is a process of its own with a worker's flags, and its memory is read from outside.
"""

import argparse
import os
import time
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import numpy as np
import optuna
import psutil

from optimizer.project.loading import load_project
from optimizer.search.outer_level import Asking
from optimizer.search.proposals import Proposal, opening
from optimizer.search.trial import Solver
from optimizer.solving.processes import ONE_THREAD

TENOR = Path(__file__).parents[2] / "configs" / "lantern-tenor.toml"
held: list[Solver] = []


def start(text: str, source: str) -> None:
    held.append(Solver(text, source))


def solve(proposal: Proposal) -> tuple[int, int]:
    """The worker's process and the size of its result."""
    return os.getpid(), len(held[0].solve(proposal).record_json)


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("project", type=Path, nargs="?", default=TENOR)
    options.add_argument("--trials", type=int, default=10_000)
    chosen = options.parse_args()
    loaded = load_project(chosen.project)
    os.environ |= ONE_THREAD
    optuna.logging.set_verbosity(optuna.logging.WARNING)
    asking = Asking(loaded, 1)
    study = optuna.create_study(directions=["minimize"] * len(loaded.project.objective_names), sampler=asking.sampler)
    for params in opening(asking.questions):
        study.enqueue_trial(params)
    marks, last = set(np.linspace(0, chosen.trials, 11).astype(int)[1:]), time.perf_counter()
    with ProcessPoolExecutor(1, get_context("spawn"), start, (loaded.text, loaded.source)) as pool:
        for done in range(1, chosen.trials + 1):
            worker, _ = pool.submit(solve, asking.proposal(study.ask())).result()
            if done in marks or done == 1:
                now, size = time.perf_counter(), psutil.Process(worker).memory_info().rss / 2**20
                print(f"to trial {done:6d}: {size:6.0f} MiB, {now - last:7.1f} s", flush=True)
                last = now


if __name__ == "__main__":
    main()
