"""Ways to search, side by side: the same objectives and limits, the same machine and wall time, one core each.

`.venv/bin/python tests/benchmarks/searchers.py --minutes 1`. Every way sees the same judge: figures of merit and the
largest violation of a limit, from one evaluation of the whole chart. Feasible points go into an archive; printed is the
dominated hypervolume of each (reference point as in `OBJECTIVES`, ideal 0) and its ratio to ours. Ways
without gradients search the raw geometry; those with one figure get a new random weighting for each start.
"""

import argparse
import os
import time
from collections.abc import Callable
from pathlib import Path

os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})  # before NumPy counts the cores

import contextlib

import numpy as np
import optuna
from scipy.optimize import differential_evolution, minimize

from acoustics.resonances import chart_errors
from optimizer.geometry.choices import chosen_figures
from optimizer.geometry.layout import numbers_of
from optimizer.project.loading import load_project
from optimizer.project.objectives import OBJECTIVES
from optimizer.records.sameness import widths
from optimizer.records.steps import unevenness
from optimizer.search.pareto import Front, hypervolume
from optimizer.search.proposals import START, Proposal, Questions, opening
from optimizer.search.sampler import FrontSampler, Member
from optimizer.search.study import new_study
from optimizer.search.trial import Solver
from optimizer.solving.doubt import sameness
from optimizer.solving.figures_of_merit import figures
from optimizer.solving.linearised import Emphasis
from optimizer.solving.problem import Problem
from optimizer.solving.starts import Starts

PROJECT = Path(__file__).parents[2] / "configs" / "lantern-tenor.toml"
OUTSIDE = 100.0  # what a millimetre of violation costs a scalarised figure


class TimeUpError(Exception):
    """The contender's minutes are over."""


class Judge:
    """The one objective code: counts evaluations, keeps what is feasible, and stops a contender when its time is up."""

    def __init__(self, problem: Problem, seconds: float) -> None:
        self.problem, self.names = problem, problem.project.objective_names
        self.until = time.monotonic() + seconds
        self.evaluations, self.found = 0, []
        self.low, self.high = problem.parametrisation.low, problem.parametrisation.high

    def __call__(self, x: np.ndarray) -> tuple[list[float], float]:
        """Objectives and largest violation [mm] at x (n,); joints lie between the holes they happen to lie between."""
        x = np.clip(x, self.low, self.high)
        layout = self.problem.layout(x)
        above = np.asarray(layout.position_mm)[None, :] > np.asarray(layout.joint_mm)[:, None]
        self.problem.choice = self.problem.choice._replace(joint_above=above.astype(float))
        return self.judged(self.problem, x)

    def judged(self, problem: Problem, x: np.ndarray) -> tuple[list[float], float]:
        """The same for a problem with choices of its own."""
        if time.monotonic() > self.until:
            raise TimeUpError
        layout = problem.layout(x)
        errors = np.asarray(chart_errors(problem.duct_at(x), problem.openness, problem.f_target))
        measured = problem.measure(layout)
        found = figures(errors, problem.weight, problem.main, measured.strain)
        sizes = zip(problem.project.holes, np.asarray(layout.diameter_mm), strict=True)
        holes = [hole.model_copy(update={"diameter_mm": float(size)}) for hole, size in sizes]
        found["unevenness"] = unevenness(holes, problem.notes)
        found |= chosen_figures(problem.project, layout)
        violation = float(np.max(measured.constraint, initial=0.0))
        values = [found[name] for name in self.names]
        self.evaluations += 1
        if violation <= 0.0:
            self.found.append(values)
        return values, violation

    def volume(self) -> float:
        return hypervolume(self.found, self.names)

    def scalar(self, weight: np.ndarray) -> Callable[[np.ndarray], float]:
        """One figure: the weighted sum over the reference point, and what violation costs."""

        def one(x: np.ndarray) -> float:
            values, violation = self(x)
            shares = np.array(
                [value / OBJECTIVES[name].reference for name, value in zip(self.names, values, strict=True)]
            )
            return float(weight @ shares + OUTSIDE * violation)

        return one


def _optuna(judge: Judge, sampler: optuna.samplers.BaseSampler, weight: np.ndarray | None) -> None:
    count = judge.low.size

    def objective(trial: optuna.Trial) -> float | list[float]:
        x = np.array([trial.suggest_float(f"x{i}", judge.low[i], judge.high[i]) for i in range(count)])
        if weight is not None:
            return judge.scalar(weight)(x)
        values, violation = judge(x)
        trial.set_constraint("violation_mm", violation)
        return values

    directions = ["minimize"] * (1 if weight is not None else len(judge.names))
    optuna.create_study(sampler=sampler, directions=directions).optimize(objective)


def nsga2(judge: Judge, dice: np.random.Generator) -> None:
    _optuna(judge, optuna.samplers.NSGAIISampler(seed=int(dice.integers(2**31))), None)


def cma_es(judge: Judge, dice: np.random.Generator) -> None:
    sampler = optuna.samplers.CmaEsSampler(seed=int(dice.integers(2**31)))
    _optuna(judge, sampler, dice.dirichlet(np.ones(len(judge.names))))


def evolution(judge: Judge, dice: np.random.Generator) -> None:
    bounds = list(zip(judge.low, judge.high, strict=True))
    while True:
        weight = dice.dirichlet(np.ones(len(judge.names)))
        differential_evolution(judge.scalar(weight), bounds, rng=dice, popsize=3, polish=False)


def slsqp(judge: Judge, dice: np.random.Generator) -> None:
    bounds, starts = list(zip(judge.low, judge.high, strict=True)), Starts(judge.problem)
    while True:
        figure = judge.scalar(dice.dirichlet(np.ones(len(judge.names))))
        minimize(figure, starts.at(0.5, 0.5, int(dice.integers(2**31))), method="SLSQP", bounds=bounds)


def _solving(judge: Judge, seed: int, remembers: bool) -> None:
    """The inner solve on what the search's own questions are answered with; a front to descend from, or none."""
    import tempfile

    loaded, members = judge.problem.loaded, []
    front = Front(widths(judge.names, sameness(loaded)))
    sampler = FrontSampler(lambda: members, seed, {START: "neighbour"})
    questions = Questions(loaded.project, loaded.notes, seed)
    solver = Solver(loaded.text, loaded.source)
    solver.problem = judge.problem
    with tempfile.TemporaryDirectory() as place:
        first = opening(questions) if remembers else []
        study = new_study(Path(place) / "journal.log", judge.names, sampler, first)
        while True:
            trial = study.ask()
            proposal = questions.asked(trial, members)
            problem, outcome = solver.settled(proposal)
            judge.evaluations += outcome.steps
            values, violation = judge.judged(problem, outcome.x)
            if remembers and violation <= 0.0:
                shares = tuple(
                    value / OBJECTIVES[name].reference for name, value in zip(judge.names, values, strict=True)
                )
                numbers = numbers_of(problem.layout(outcome.x))
                numbers["joint_mm"] = numbers["joint_mm"][problem.choice.joint_used > 0.5]
                member = Member(f"t{trial.number}", trial.params, shares, numbers)
                front.offer(member.id, dict(zip(judge.names, values, strict=True)))
                members = [one for one in (*members, member) if one.id in front.members]
            trial.set_constraint("violation_mm", violation)
            study.tell(trial, values)


def random_weights(judge: Judge, dice: np.random.Generator) -> None:
    """The same inner solve from random emphases, choices and starts."""
    _solving(judge, int(dice.integers(2**31)), remembers=False)


def ours(judge: Judge, dice: np.random.Generator) -> None:
    """What `holewright search` does, on one core and without its verification."""
    _solving(judge, int(dice.integers(2**31)), remembers=True)


WAYS = {
    "ours": ours,
    "random weights, same inner solve": random_weights,
    "NSGA-II on the geometry (Optuna)": nsga2,
    "CMA-ES, one weighting (Optuna)": cma_es,
    "differential evolution (SciPy)": evolution,
    "SLSQP without Jacobian (SciPy)": slsqp,
}


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--minutes", type=float, default=1.0)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--project", type=Path, default=PROJECT)
    chosen = options.parse_args()
    optuna.logging.set_verbosity(optuna.logging.ERROR)
    problem = Problem(load_project(chosen.project))
    warm = Judge(problem, 600.0)
    solver = Solver(problem.loaded.text, problem.loaded.source)
    solver.problem = problem
    problem, outcome = solver.settled(Proposal(0, Emphasis(1.0, stretch=0.03, unevenness=0.03), 0.5, 0.0, 1))
    warm.judged(problem, outcome.x)
    print(f"{problem.project.instrument.name}, {chosen.minutes:g} minutes each; reference point "
          + ", ".join(f"{name} {OBJECTIVES[name].reference:g}" for name in warm.names))  # fmt: skip
    print("| way | evaluations | feasible | hypervolume | ours over this |\n| --- | --- | --- | --- | --- |")
    best = None
    for name, way in WAYS.items():
        judge = Judge(problem, 60.0 * chosen.minutes)
        with contextlib.suppress(TimeUpError):
            way(judge, np.random.default_rng(chosen.seed))
        volume = judge.volume()
        best = volume if best is None else best
        ratio = f"{best / volume:.2f}" if volume > 0.0 else "nothing inside the box"
        print(f"| {name} | {judge.evaluations} | {len(judge.found)} | {volume:.4f} | {ratio} |", flush=True)


if __name__ == "__main__":
    main()
