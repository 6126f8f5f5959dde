"""What freeing the tenor's bore buys: the crook alone, crook and cones, everything.

`.venv/bin/python tests/benchmarks/bores.py --starts 8`. Each way is solved from the same starts, one after another, so
that processor times compare. Of the layouts that keep all limits the one best in tune is told; "registers" is how far,
RMS, the second resonance of the first register's fingerings lies from the octave; "strength" the least of the upper
register's peaks against the one below, "vents closed" apart. The last way has everything free, but outside: a simplex
moves the bore, holes settle inside, for as much processor time as everything together took.
"""

import argparse
import contextlib
import time
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np
from scipy.optimize import minimize

from optimizer.geometry.choices import plain_choices
from optimizer.project.bore import NUMBERS
from optimizer.project.loading import LoadedProject, load_project, parse_project
from optimizer.records.layout import LayoutRecord
from optimizer.search.proposals import Proposal
from optimizer.search.trial import Solver
from optimizer.solving.assemble import assemble
from optimizer.solving.linearised import Emphasis
from optimizer.solving.stock import solve

PROJECT = Path(__file__).parents[2] / "configs" / "lantern-tenor.toml"
CROOK = "crook_end_diameter_mm = [7.2, 9.2]\ncrook_half_angle_deg = [0.5, 1.4]\n"
CONES = "cone_half_angle_deg = [0.8, 1.1]\ncones_meet_mm = 500\nlower_cone_half_angle_deg = [0.8, 1.1]\n"
REST = "reed_end_diameter_mm = [4.0, 4.8]\nbell_length_mm = [40, 120]\nbell_flare_mm = [0, 8]\n"
WAYS = {"as it is": "", "crook": CROOK, "crook and cones": CROOK + CONES, "everything": CROOK + CONES + REST}
EMPHASIS = Emphasis(1.0, worst_note=0.03, stretch=0.03, unevenness=0.03)
INNER_STEPS = 12


class OutOfTimeError(Exception):
    """The processor time is spent."""


class Came(NamedTuple):
    """What one solve came to, and the processor time it took [s]."""

    record: LayoutRecord
    seconds: float

    @property
    def rank(self) -> tuple[bool, float]:
        """Less is better: all limits kept, then tuning."""
        return not self.record.feasible, self.record.objectives["tuning"]


def freed(loaded: LoadedProject, numbers: str) -> LoadedProject:
    """The project with numbers that shape its bore."""
    return parse_project(loaded.text.replace("\nwall_mm =", f"\n{numbers}wall_mm =", 1), loaded.source)


def together(solver: Solver, number: int) -> Came:
    """One solve of everything that is free."""
    dice = np.random.default_rng(number)
    size, pattern = (0.5, "alike") if number == 0 else (float(dice.uniform()), ("alike", "tapered")[number % 2])
    proposal = Proposal(number, EMPHASIS, size, 0.0 if number == 0 else 1.0, 1, pattern)
    begun = time.process_time()
    problem, outcome = solver.settled(proposal)
    spent = time.process_time() - begun
    return Came(assemble(problem, outcome.x, f"t{number}", {}), spent)


def outside(solver: Solver, seconds: float) -> list[Came]:
    """Bores moved by a simplex from the middle of their ranges, holes settled inside, until the time is spent."""
    plain = solver.problem
    begun = time.process_time()
    problem, x = plain.chosen(plain_choices(plain.project, plain.loaded.notes), solver.starts.at())
    coding = problem.parametrisation
    outer = np.array([name in NUMBERS for name in coding.names])
    best = [solve(problem, x, EMPHASIS, 80, ~outer)]

    def merit(bore: np.ndarray) -> float:
        if time.process_time() - begun > seconds:
            raise OutOfTimeError
        start = best[0].x.copy()
        start[outer] = np.clip(bore, coding.low[outer], coding.high[outer])
        came = solve(problem, start, EMPHASIS, INNER_STEPS, ~outer)
        worth = came.merit + 100.0 * came.violation_mm
        if worth < best[0].merit + 100.0 * best[0].violation_mm:
            best[0] = came
        return worth

    with contextlib.suppress(OutOfTimeError):
        minimize(merit, x[outer], method="Nelder-Mead", options={"initial_simplex": _simplex(x[outer])})
    return [Came(assemble(problem, best[0].x, "outside", {}), time.process_time() - begun)]


def _simplex(middle: np.ndarray) -> np.ndarray:
    """The middle, and corners one unit of x from it."""
    return np.vstack([middle, middle + np.eye(middle.size)])


def told(way: str, came: list[Came], alone: float) -> str:
    """A row of the table; alone: median processor time of a solve with the bore as it is [s]."""
    best = min(came, key=lambda one: one.rank).record
    kept = [one.record.objectives["tuning"] for one in came if one.record.feasible]
    main = [note for note in best.notes if not note.alternate and note.cents is not None]
    ratios = [note.register_ratio for note in main if note.register_number == 1 and note.register_ratio]
    wide = 1200.0 * np.log2(np.array(ratios) / 2.0)
    strength = min(note.height_over_lower for note in main if note.height_over_lower and note.register_number > 1)
    spent = float(np.median([one.seconds for one in came]))
    median = f"{np.median(kept):.2f}" if kept else "none"
    return (
        f"| {way} | {best.objectives['tuning']:.2f} | {median} | {len(kept)} of {len(came)} "
        f"| {max(abs(note.cents or 0.0) for note in main):.1f} | {np.sqrt(np.mean(wide**2)):.1f} | {strength:.2f} "
        f"| {best.objectives['stretch']:.1f} | {spent:.2f} | {spent / alone:.2f} |"
    )


def bores(record: LayoutRecord) -> str:
    """The numbers that shaped a bore."""
    return ", ".join(f"{name} {value:g}" for name, value in record.bore.shaped_by.items())


def rows(loaded: LoadedProject, starts: int) -> Iterator[str]:
    """Rows of the table, then the bores."""
    solvers = {way: Solver(one.text, one.source) for way, one in ((w, freed(loaded, n)) for w, n in WAYS.items())}
    for solver in solvers.values():
        assert solver.starts is not None  # read, and looked at its bore, before time counts
    came: dict[str, list[Came]] = {way: [] for way in WAYS}
    for number in range(starts):
        for way, solver in solvers.items():
            came[way].append(together(solver, number))
    spent = sum(one.seconds for one in came["everything"])
    came["everything, outside"] = outside(solvers["everything"], spent)
    alone = float(np.median([one.seconds for one in came["as it is"]]))
    for way, found in came.items():
        yield told(way, found, alone)
    for way, found in came.items():
        yield f"{way}: {bores(min(found, key=lambda one: one.rank).record) or 'by its points'}"


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--starts", type=int, default=8)
    options.add_argument("--project", type=Path, default=PROJECT)
    chosen = options.parse_args()
    print("| free | tuning, cents | median | kept | worst note | registers, cents | strength | stretch, % "
          "| processor time, s | over as it is |\n|" + " --- |" * 10)  # fmt: skip
    for row in rows(load_project(chosen.project), chosen.starts):
        print(row, flush=True)


if __name__ == "__main__":
    main()
