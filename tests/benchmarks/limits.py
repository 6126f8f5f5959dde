"""Limits of one layout: microseconds on one core, without and with all slopes, and what each family takes of it.

`.venv/bin/python tests/benchmarks/limits.py configs/lantern-tenor.toml`. Least of many calls, as others disturb; a
family by itself measures what it needs of the layout, all together measure it once.
"""

import argparse
import os
import time
from collections.abc import Callable
from pathlib import Path

os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})  # before NumPy counts the cores

import numpy as np

from optimizer.geometry.choices import plain_choices
from optimizer.geometry.measured_layout import Geometry
from optimizer.limits.catalogue import FAMILIES
from optimizer.project.loading import load_project
from optimizer.solving.problem import Problem
from optimizer.solving.starts import Starts

PROJECT = Path(__file__).parents[2] / "configs" / "lantern-tenor.toml"


def microseconds(work: Callable[[], object], seconds: float = 1.0) -> float:
    """Least time of one call."""
    until, least = time.perf_counter() + seconds, np.inf
    while time.perf_counter() < until:
        begun = time.perf_counter()
        work()
        least = min(least, time.perf_counter() - begun)
    return 1e6 * least


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("project", type=Path, nargs="?", default=PROJECT)
    loaded = load_project(options.parse_args().project)
    whole = Problem(loaded)
    problem, x = whole.chosen(plain_choices(loaded.project, loaded.notes), Starts(whole).at())
    coding, found = problem.parametrisation, problem.constraints
    plain, moving = (layout(x, problem.choice) for layout in (coding.layout, coding.moving))
    print(f"{loaded.project.instrument.name}: {len(found.items)} limits, {x.size} free numbers")
    print("| limits | values, us | with slopes, us |\n| --- | --- | --- |")
    for name, values, count in [
        ("all", found.broken_by, len(found.items)),
        *((build.__name__, values, len(items)) for build in FAMILIES for items, values in [build(loaded.project)]),
    ]:
        if count:
            times = [microseconds(lambda at=at: values(Geometry(at, found.fixed))) for at in (plain, moving)]  # noqa: B023
            print(f"| {name} ({count}) | {times[0]:.0f} | {times[1]:.0f} |", flush=True)
    print(f"| all, from x | {microseconds(lambda: found.values(coding.layout(x, problem.choice))):.0f} "
          f"| {microseconds(lambda: found.values(coding.moving(x, problem.choice))):.0f} |")  # fmt: skip


if __name__ == "__main__":
    main()
