"""Prototypes drawn from the stated deviations and corrected in two passes, with the scatter of a bench.

    .venv/bin/python tests/benchmarks/corrections.py --count 200

Each is heard on every note in three passes (2 cents common, 4 a note), fitted, corrected by the list, and measured
anew. Printed: RMS of the main notes before and after, and how many got worse by more than half a cent; those that get
no list are not counted.
"""

import argparse
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "kit"))

from corrections import carried_out

from optimizer.project.loading import load_project
from optimizer.records.named_layouts import chosen_layout

CONFIGS = Path(__file__).parents[2] / "configs"


def main() -> None:
    """Draw, correct, print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--count", type=int, default=200)
    asked.add_argument("--first", type=int, default=0)
    asked.add_argument("--seconds", type=float, default=2.0)
    given = asked.parse_args()
    record = chosen_layout(CONFIGS / "prototypes" / "lantern-tenor.json")
    loaded = load_project(CONFIGS / "lantern-tenor.toml")
    begun, found = time.process_time(), []
    for seed in range(given.first, given.first + given.count):
        found.append(carried_out(record, loaded, seed, given.seconds))
        print(f"  {seed}: {found[-1][0]:.1f} to {found[-1][1]:.1f} cents RMS", flush=True)
    before, after = np.array([each for each in found if not np.isnan(each[1])]).T
    print(
        f"{len(before)} of {given.count} prototypes with a list: median {np.median(before):.2f} to "
        f"{np.median(after):.2f} cents RMS; worse by more than 0.5 cents: {np.sum(after - before > 0.5)}; "
        f"{(time.process_time() - begun) / given.count:.1f} s of processor time each"
    )


if __name__ == "__main__":
    main()
