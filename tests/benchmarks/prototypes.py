"""Prototypes drawn from the stated deviations, heard on twelve notes, fitted: how well are the other notes known?

    .venv/bin/python tests/benchmarks/prototypes.py --count 200

Each is drawn by the exact model: reed, air, bore, shrinkage, every hole, each formula's error; a player scatters (2
cents common, 4 a note, three passes). Printed: the share of the other notes that lie in their 90 % bands, by how much
the doubt fell, and processor time.
"""

import argparse
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "kit"))

from prototypes import drawn, heard

from optimizer.prototype.calibration import Fit
from optimizer.prototype.first_notes import first_notes
from optimizer.prototype.played_model import played
from optimizer.records.layout import LayoutRecord
from optimizer.records.named_layouts import chosen_layout

Z_90 = 1.6449


class Result:
    """What came out of all prototypes."""

    def __init__(self) -> None:
        self.inside: list[float] = []
        self.off: list[float] = []
        self.doubt: list[float] = []
        self.before: list[float] = []
        self.tiers: list[int] = []

    def add(self, fit: Fit, cents: np.ndarray, others: list[int]) -> None:
        """Take note of one."""
        found, sd = fit.of_instrument
        off = (found - cents)[others]
        self.inside += list(np.abs(off) < Z_90 * sd[others])
        self.off += list(off)
        self.doubt += list(sd[others])
        self.before += list((fit.model.layout.cents - cents)[others])
        self.tiers.append(len(fit.judged))

    def told(self) -> str:
        """A line of figures."""
        rms = [float(np.sqrt(np.mean(np.square(each)))) for each in (self.before, self.off, self.doubt)]
        steps = [self.tiers.count(tier) for tier in (1, 2, 3)]
        return (
            f"{len(self.tiers)} prototypes, {len(self.off)} other notes: {100 * np.mean(self.inside):.1f} % in their "
            f"90 % bands; off by {rms[0]:.1f} cents RMS as designed, {rms[1]:.2f} as fitted, doubt {rms[2]:.2f}; "
            f"tiers needed 1/2/3: {'/'.join(map(str, steps))}"
        )


def run(record: LayoutRecord, count: int, wanted: list[str], first: int = 0) -> Result:
    """Fit so many prototypes of a layout, heard on some notes."""
    model, result = played(record), Result()
    lines = [line for line, note in enumerate(record.notes) if note.written in wanted and not note.alternate]
    others = [place for place, line in enumerate(model.lines) if line not in lines]
    for seed in range(first, first + count):
        prototype = drawn(model, seed)
        result.add(Fit(record, heard(record, prototype, lines, seed, model)), prototype.cents, others)
    return result


def main() -> None:
    """Print one line for notes chosen to say most, one for notes at random."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--count", type=int, default=200)
    options.add_argument("--layout", type=Path, default=Path("configs/prototypes/lantern-tenor.json"))
    asked = options.parse_args()
    record = chosen_layout(asked.layout)
    begun = time.process_time()
    best = [step.name for step in first_notes(record, 3)]
    print(f"the 12 most telling notes ({' '.join(best)}):")
    print(f"  {run(record, asked.count, best).told()}")
    main_notes = [note.written for note in record.notes if not note.alternate]
    some = np.random.default_rng(1).permutation(main_notes)[:12].tolist()
    print(f"12 notes at random ({' '.join(some)}):")
    print(f"  {run(record, asked.count, some).told()}")
    print(f"{time.process_time() - begun:.0f} s of processor time")


if __name__ == "__main__":
    main()
