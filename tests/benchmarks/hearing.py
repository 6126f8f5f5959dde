"""Prototypes played, recorded and heard: errors of pitch, and notes taken for others.

    .venv/bin/python tests/benchmarks/hearing.py [--project configs/lantern-tenor.toml] [--prototypes 20] [--seed 1]

The project is solved once for tuning. Each prototype is drawn from its stated deviations by the exact model, the
formulas' own error on top, and each tone played with 4 cents of scatter. All main notes are played once in a random
order, dry and with vibrato in a room of half a second, both with 40 dB of noise, and heard from a file: every other
prototype by its list, the others in any order. An error counts from the pitch that was played, not from the note's.
"""

import argparse
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "kit"))

from takes import Prototype, kept

from optimizer.analysis.sensitivity import drawn_cents, normal_draws, sensitivity
from optimizer.hearing.session import measured
from optimizer.project.loading import load_project
from optimizer.records.layout import LayoutRecord
from optimizer.search.proposals import Proposal
from optimizer.search.trial import Solver
from optimizer.solving.linearised import Emphasis

SCATTER_CENTS = 4.0


def solved(project: Path) -> LayoutRecord:
    """A layout of the project, solved for tuning."""
    loaded = load_project(project)
    asked = Proposal(0, Emphasis(1.0, stretch=0.03, unevenness=0.03), 1.0, 0.0, 1)
    return LayoutRecord.model_validate_json(Solver(loaded.text, loaded.source).solve(asked).record_json)


def prototypes(record: LayoutRecord, many: int, seed: int) -> list[Prototype]:
    """Instruments of one layout as they may come out, each note with the scatter that it is played with."""
    layout = sensitivity(record)
    drawn = drawn_cents(layout, normal_draws(many, layout.by.shape[1], seed)) - layout.cents
    rng = np.random.default_rng(seed)
    drawn += rng.normal(0.0, np.hypot(layout.spread.model, SCATTER_CENTS), drawn.shape)
    found = [Prototype(record, rng) for _ in range(many)]
    numbers = [record.notes.index(note) for note in layout.notes]
    for prototype, cents in zip(found, drawn, strict=True):
        prototype.cents |= dict(zip(numbers, cents, strict=True))
    return found


def heard(prototype: Prototype, wet: bool, listed: bool, rng: np.random.Generator) -> tuple[list[float], int, int, int]:
    """Errors of the notes found [cents], and how many were taken for others, marked for their octave, or left out."""
    order = [prototype.lines[n] for n in rng.permutation([x.number for x in prototype.lines if not x.alternate])]
    with tempfile.TemporaryDirectory() as folder:
        take = kept(Path(folder) / "take.wav", prototype.played(order, rng, wet))
        session = measured(prototype.record, [take], order if listed else ())
    (found,) = session.takes
    played = {1.0 + 1.6 * n: line for n, line in enumerate(order)}  # middles: a rest of 0.4 s, tones of 1.2
    off, wrong, doubtful = list[float](), 0, 0
    for tone, match in zip(found.heard.tones, found.alignment.matches, strict=True):
        line = played[min(played, key=lambda middle: abs(middle - (tone.begin + tone.end) / 2.0))]
        wrong += match.line not in (None, line)
        doubtful += match.doubtful
        if match.line == line:
            off.append(1200.0 * np.log2(tone.hz / prototype.hz(line)))
    return off, wrong, doubtful, len(order) - len(off) - wrong


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--project", type=Path, default=Path("configs/lantern-tenor.toml"))
    options.add_argument("--prototypes", type=int, default=20)
    options.add_argument("--seed", type=int, default=1)
    asked = options.parse_args()
    record = solved(asked.project)
    rng = np.random.default_rng(asked.seed)
    made = prototypes(record, asked.prototypes, asked.seed)
    print("| recorded | notes | rms, cents | largest | taken for others | octave doubtful | left out | processor s |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    for words, wet in (("dry", False), ("vibrato, room", True)):
        begun = time.process_time()
        each = [heard(prototype, wet, number % 2 == 0, rng) for number, prototype in enumerate(made)]
        off = np.concatenate([found[0] for found in each])
        counts = " | ".join(str(sum(found[n] for found in each)) for n in (1, 2, 3))
        print(f"| {words} | {len(off)} | {np.sqrt(np.mean(off**2)):.3f} | {np.abs(off).max():.2f} | {counts} "
              f"| {time.process_time() - begun:.0f} |", flush=True)  # fmt: skip


if __name__ == "__main__":
    main()
