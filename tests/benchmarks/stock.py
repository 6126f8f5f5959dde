"""What finished sizes from the stock cost: the same proposals solved with a project's stock and without.

`.venv/bin/python tests/benchmarks/stock.py --trials 60 --stock configs/stock/metric.toml`. Random emphases, choices and
starts, each solved twice as a search does, on one core. "In tune" is the best quarter of the layouts that keep all
limits without a stock.
"""

import argparse
import os
import time
from pathlib import Path

os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})  # before NumPy counts the cores

import numpy as np
import optuna
import tomlkit

from optimizer.project.included import read_included, taken_in
from optimizer.project.loading import load_project
from optimizer.project.stock import Stock
from optimizer.records.layout import LayoutRecord
from optimizer.search.proposals import Proposal, Questions
from optimizer.search.trial import Solver

CONFIGS = Path(__file__).parents[2] / "configs"


def solved(solver: Solver, proposal: Proposal) -> tuple[LayoutRecord, float]:
    """A layout, and the processor time it took [s]."""
    begun = time.process_time()
    text = solver.solve(proposal).record_json
    return LayoutRecord.model_validate_json(text), time.process_time() - begun


def row(words: str, free: list[LayoutRecord], held: list[LayoutRecord], figure: str) -> str:
    """A line of the table: medians of a figure without and with the stock, and by how much layouts grow worse."""
    one, other = (np.array([record.objectives[figure] for record in records]) for records in (free, held))
    more = other - one
    spread = f"{np.median(more):+.2f} | {np.quantile(more, 0.9):+.2f}"
    return f"| {words} | {len(free)} | {np.median(one):.2f} | {np.median(other):.2f} | {spread} |"


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--project", type=Path, default=CONFIGS / "lantern-tenor.toml")
    options.add_argument("--stock", type=Path, default=CONFIGS / "stock" / "metric.toml")
    options.add_argument("--trials", type=int, default=60)
    options.add_argument("--seed", type=int, default=1)
    chosen = options.parse_args()
    optuna.logging.set_verbosity(optuna.logging.ERROR)
    loaded = load_project(chosen.project)
    stocked = taken_in(loaded.text, read_included(chosen.stock, Stock, "stock"))
    free = tomlkit.parse(loaded.text)
    free.pop("stock", None)
    solvers = Solver(free.as_string(), "free"), Solver(stocked, "stocked")
    questions = Questions(loaded.project, loaded.notes, chosen.seed)
    study = optuna.create_study(
        directions=["minimize"] * len(questions.names), sampler=optuna.samplers.RandomSampler(seed=chosen.seed)
    )
    for solver in solvers:
        solved(solver, questions.asked(study.ask(), []))  # read the project
    pairs = []
    for _ in range(chosen.trials):
        proposal = questions.asked(study.ask(), [])
        pairs.append([solved(solver, proposal) for solver in solvers])
    spent = [sum(pair[which][1] for pair in pairs) for which in (0, 1)]
    records = [(pair[0][0], pair[1][0]) for pair in pairs]
    kept = [pair for pair in records if all(one.violation_mm <= 0.0 for one in pair)]
    lost = sum(pair[0].violation_mm <= 0.0 < pair[1].violation_mm for pair in records)
    best = sorted(kept, key=lambda pair: pair[0].objectives["tuning"])[: max(1, len(kept) // 4)]
    print(f"{loaded.project.instrument.name}, {chosen.stock.stem} stock, {chosen.trials} proposals:")
    print("\n| figure | layouts | free, median | stock, median | more, median | more, nine in ten within |")
    print("| --- | --- | --- | --- | --- | --- |")
    for words, group in (("all that keep their limits", kept), ("in tune", best)):
        one, other = map(list, zip(*group, strict=True))
        for figure, unit in (("tuning", "cents"), ("worst_note", "cents"), ("unevenness", "%")):
            print(row(f"{figure} [{unit}], {words}", one, other, figure))
    sizes = [hole for pair in records for hole in pair[1].holes]
    print(f"\n{sum(hole.tool is not None for hole in sizes)} of {len(sizes)} holes have a tool of the stock, "
          f"{sum(hole.pad is not None and hole.pad.in_stock for hole in sizes)} a pad of it")  # fmt: skip
    print(f"limits kept without the stock and broken with it: {lost} of {chosen.trials} layouts")
    without, within = (1e3 * seconds / chosen.trials for seconds in spent)
    print(f"processor time of a trial: {without:.0f} ms without, {within:.0f} ms with, {within / without:.2f} times")


if __name__ == "__main__":
    main()
