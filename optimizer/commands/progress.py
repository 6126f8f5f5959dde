"""Ways out of a reach, looked for and kept: what `relieve` and `reach` share."""

import argparse
import os
import sys
import time
from collections.abc import Mapping
from typing import Any

from optimizer.analysis.reliefs import relieved
from optimizer.project.loading import LoadedProject
from optimizer.records.fits import ReliefsRecord
from optimizer.solving.processes import processes
from optimizer.words import clock


class FitProgress:
    """A line on standard error each time something is done: how much, for how long, about how much longer."""

    def __init__(self, what: str, limit_seconds: float) -> None:
        self.what, self.limit, self.begun = what, limit_seconds, time.monotonic()

    def __call__(self, done: int, of: int) -> None:
        """Say how many are done."""
        elapsed = time.monotonic() - self.begun
        left = min(max(self.limit - elapsed, 0.0), elapsed / done * (of - done)) if done else self.limit
        print(
            f"{clock(elapsed)} elapsed, about {clock(left if done < of else 0.0)} to go | {done} of {of} {self.what}",
            file=sys.stderr,
        )


def option_problems(options: argparse.Namespace) -> list[str]:
    """What is wrong with --minutes and --workers."""
    problems = []
    if not 0.0 < options.minutes <= 1e4:
        problems.append(f"--minutes must be more than 0 and at most 10000, but got {options.minutes:g}")
    if options.workers is not None and not 1 <= options.workers <= 1000:
        problems.append(f"--workers must be between 1 and 1000, but got {options.workers}")
    return problems


def looked_for(loaded: LoadedProject, numbers: Mapping[str, Any] | None, options: argparse.Namespace) -> ReliefsRecord:
    """Ways out of a project's reach, found within --minutes."""
    seconds = 60.0 * options.minutes
    progress = FitProgress("solves", seconds)
    progress(0, 1)
    with processes(options.workers, options.workers or os.cpu_count() or 1) as pool:
        return relieved(loaded, numbers, pool, seconds, progress, getattr(options, "only", ()))
