"""What `tolerance` does, once parsed."""

import argparse
import sys
import time

from optimizer.analysis.tolerance import tolerance
from optimizer.commands.console import Complain, Files, show_and_write
from optimizer.records.files import RecordError, write_record, write_text
from optimizer.records.named_layouts import chosen_layout
from optimizer.views.drawings.bands import tolerance_svg
from optimizer.views.tolerance_tables import show_tolerance
from optimizer.words import clock

FEWEST, MOST = 20, 100_000
EVERY_SECONDS = 10.0


def run_tolerance(options: argparse.Namespace, complain: Complain) -> int:
    """`tolerance`: what making and playing do to a layout's notes; exit code 0 done, 2 something to mend."""
    problems = _option_problems(options)
    if problems:
        return complain("options to mend", problems)
    try:
        record = chosen_layout(options.path, options.layout, feasible=True)
        found = tolerance(record, options.samples, options.seed, options.within, options.worth, _Progress())
    except (RecordError, ValueError) as error:
        return complain("cannot tell what becomes of this", [str(error)])
    files: Files = (
        (options.json, lambda path: write_record(path, found)),
        (options.svg, lambda path: write_text(path, tolerance_svg(found))),
    )
    return show_and_write(lambda screen: show_tolerance(screen, found), files, complain)


def _option_problems(options: argparse.Namespace) -> list[str]:
    problems = []
    if not FEWEST <= options.samples <= MOST:
        problems.append(f"--samples must be between {FEWEST} and {MOST}, but got {options.samples}")
    if not 0 <= options.seed < 2**32:
        problems.append(f"--seed must be at least 0 and below {2**32}, but got {options.seed}")
    if not 0.0 < options.within <= 1200.0:
        problems.append(f"--within must be more than 0 and at most 1200 cents, but got {options.within:g}")
    if not 0.0 < options.worth <= 100.0:
        problems.append(f"--worth must be more than 0 and at most 100 cents, but got {options.worth:g}")
    return problems


class _Progress:
    """A line on standard error now and then, of draws that take long."""

    def __init__(self) -> None:
        self.begun = self.said = time.monotonic()

    def __call__(self, done: int, of: int) -> None:
        now = time.monotonic()
        if now - self.said < EVERY_SECONDS or done >= of:
            return
        self.said, elapsed = now, now - self.begun
        left = elapsed / done * (of - done)
        print(f"{clock(elapsed)} elapsed, about {clock(left)} to go | {done} of {of} computed", file=sys.stderr)
