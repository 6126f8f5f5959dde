"""How long workers take to be ready, and how much memory they hold: processes of this machine, and Ray's actors.

`.venv/bin/python tests/benchmarks/pools.py [PROJECT] [--workers 2]`, on an idle machine. Seconds count from the pool's
opening in a process that has loaded what a driver has; memory is a worker's resident size and its own part of it (what
no other process shares), bare and after its first solve.
"""

import argparse
import os
import time
from contextlib import contextmanager
from pathlib import Path

import psutil

from optimizer.project.loading import LoadedProject, load_project
from optimizer.search.local_crew import LocalCrew
from optimizer.search.outer_level import Asking
from optimizer.search.proposals import Proposal
from optimizer.search.trial import Solver
from optimizer.search.workers import Workers
from optimizer.solving.linearised import Emphasis
from optimizer.solving.processes import ONE_THREAD

TENOR = Path(__file__).parents[2] / "configs" / "lantern-tenor.toml"


@contextmanager
def opened(kind: str, loaded: LoadedProject, count: int):  # type: ignore[no-untyped-def]
    """A pool of a kind, without the driver's own solving."""
    given = loaded.text, loaded.source
    if kind == "local":
        pool = Workers(LocalCrew(count, Solver, given))
        yield pool
        pool.close()
    else:
        from optimizer.search.ray_crew import open_ray

        with open_ray("local", count, Solver, given) as crew:
            yield Workers(crew)


def memory(kind: str) -> str:
    """Resident size and own part of each worker."""
    mark = "optimizer.search.worker_process" if kind == "local" else "ray::Solver"
    below = psutil.Process().children(recursive=True)
    sizes = [one.memory_full_info() for one in below if mark in " ".join(one.cmdline())]
    return ", ".join(f"{size.rss / 2**20:.0f} MiB ({size.uss / 2**20:.0f} its own)" for size in sizes)


def listed(seconds: list[float]) -> str:
    """Seconds in a row."""
    return ", ".join(f"{one:.2f} s" for one in seconds)


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("project", type=Path, nargs="?", default=TENOR)
    options.add_argument("--workers", type=int, default=2)
    chosen = options.parse_args()
    os.environ.update(ONE_THREAD)
    loaded = load_project(chosen.project)
    Asking(loaded, 1)
    emphasis = Emphasis(tuning=1.0, stretch=0.03, unevenness=0.03)
    for kind in ("local", "ray"):
        begun, ready = time.perf_counter(), []
        with opened(kind, loaded, chosen.workers) as pool:
            while len(ready) < chosen.workers:
                list(pool.finished(0.05))
                ready += [time.perf_counter() - begun] * (len(pool._idle) - len(ready))
            print(f"{kind}: ready after {listed(ready)}; {memory(kind)}", flush=True)
            begun = time.perf_counter()
            for number in range(chosen.workers):
                pool.submit(Proposal(number, emphasis, 0.5, 0.0, 1))
            solved = []
            while pool.busy():
                solved += [time.perf_counter() - begun for _ in pool.finished(0.05)]
            print(f"  first solves after {listed(solved)}; {memory(kind)}", flush=True)


if __name__ == "__main__":
    main()
