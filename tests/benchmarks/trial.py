"""What a trial costs, by parts: the proposals of one search on one core, each from its start to the finished record.

`.venv/bin/python tests/benchmarks/trial.py [PROJECT] [--trials N] [--seed N]`. Prints processor time per trial, solver
steps, how good the front is, and what share the parts take (timed by a profiler, in a second run of the same trials).
"""

import os

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ[_name] = "1"

import argparse
import cProfile
import pstats
import tempfile
import time
from pathlib import Path

import numpy as np

from acoustics.tiers import in_use
from optimizer.project.loading import LoadedProject, load_project
from optimizer.search.driver import Driver
from optimizer.search.lock import sole_writer
from optimizer.search.outer_level import Asking
from optimizer.search.pool import Here
from optimizer.search.proposals import opening
from optimizer.search.run_folder import RunFolder, create_run, saved_layouts
from optimizer.search.search_limits import Limits
from optimizer.search.study import new_study
from optimizer.search.trial import Solver

PROJECT = Path(__file__).parents[2] / "configs" / "lantern-tenor.toml"
PARTS = (
    ("trial.py", "_start", "start"), ("refine.py", "refine", "solve"), ("problem.py", "evaluate", "solve: evaluation"),
    ("resonances.py", "moved_errors", "solve: errors with slopes"),
    ("quadratic_step.py", "best_step", "solve: quadratic programme"),
    ("assemble.py", "assemble", "record"), ("resonances.py", "spectrum", "record: resonances"),
    ("uncertainty.py", "note_spread", "record: uncertainty"), ("rods.py", "passage", "record: rods"),
    ("rods.py", "rod_sentences", "record: what rods meet"), ("driver.py", "_tell", "driver"),
)  # fmt: skip


def searched(loaded: LoadedProject, trials: int, seed: int, place: str) -> RunFolder:
    """A search of so many trials in this process."""
    folder = create_run(Path(place), loaded, seed, None, trials, 1)
    with sole_writer(folder.path):
        asking = Asking(loaded, seed)
        study = new_study(folder.journal, folder.front.names, asking.sampler, opening(asking.questions))
        here = Here(Solver(loaded.text, loaded.source))
        Driver(folder, study, asking, here, Limits(None, trials, 1, seed), lambda _: None, time.monotonic()).run(
            lambda: None
        )
    return folder


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("project", type=Path, nargs="?", default=PROJECT)
    options.add_argument("--trials", type=int, default=60)
    options.add_argument("--seed", type=int, default=1)
    given = options.parse_args()
    loaded = load_project(given.project)
    with tempfile.TemporaryDirectory() as place:
        begun = time.process_time()
        folder = searched(loaded, given.trials, given.seed, place)
        spent = (time.process_time() - begun) / given.trials
        steps = np.array([float(record.provenance["solver_steps"]) for record in saved_layouts(folder.path).values()])
    front = folder.front
    print(f"{loaded.project.instrument.name}, acoustics by {in_use()}: {1e3 * spent:.0f} ms of processor time a trial")
    print(f"solver steps: mean {steps.mean():.1f}, median {np.median(steps):.0f}, most {steps.max():.0f}")
    print(f"front after {given.trials} trials: {len(front.members)} layouts, hypervolume {front.hypervolume():.4f}")
    profile = cProfile.Profile()
    with tempfile.TemporaryDirectory() as place:
        profile.enable()
        searched(loaded, given.trials, given.seed, place)
        profile.disable()
    stats = pstats.Stats(profile).stats  # type: ignore[attr-defined]
    whole = sum(own for _, _, own, _, _ in stats.values())
    for file, name, words in PARTS:
        took = sum(row[3] for key, row in stats.items() if Path(key[0]).name == file and key[2] == name)
        print(f"  {words:<28}{100.0 * took / whole:6.1f} %")


if __name__ == "__main__":
    main()
