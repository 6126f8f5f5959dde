"""What a project's folds do to its notes: the bends' own length, and the openings nearer to each other than along
the body.

    python tests/benchmarks/folded.py [PROJECT.toml]

One layout, in the middle of all ranges, four times: as it is; its bends without a length of their own; its openings as
far apart as along the body; both. Told is each note's difference in cents. Without a project: the tests' fold pipe.
"""

import argparse
import sys
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[1] / "kit"), str(Path(__file__).parents[2])]

from folded import FOLDED, folds
from shelf import pipe

from optimizer.project.loading import load_project


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("project", nargs="?", type=Path)
    asked = parser.parse_args()
    loaded = load_project(asked.project) if asked.project else pipe(FOLDED)
    found = folds(loaded)
    print(f"{'note':6}{'bends':>9}{'distances':>11}{'both':>9}   cents")
    for row, note in enumerate(loaded.notes):
        print(f"{note.written:6}{found['bends'][row]:9.2f}{found['distances'][row]:11.2f}{found['both'][row]:9.2f}")


if __name__ == "__main__":
    main()
