"""The recording on the shelf, played by the synthesiser as the tuner table beside it has the tenor's print.

    .venv/bin/python tests/benchmarks/shelf_take.py configs/prototypes/

The rows of the table that were played, and its first note again, each a tone of 0.9 s with a scoop and 3 cents of
scatter, the instrument 4 cents warmer at the end than at the beginning, 40 dB above noise, as OGG; and the order of the
notes as a text.
"""

import sys
from pathlib import Path

import numpy as np
import soundfile

from optimizer.hearing.recording import RATE
from optimizer.hearing.synthesis import Played, performance, with_noise
from optimizer.hearing.wanted import lines_of
from optimizer.prototype.measured_table import read_table
from optimizer.prototype.tuner_table import QUANTITIES
from optimizer.records.named_layouts import chosen_layout

SECONDS, SCATTER_CENTS, WARMER_CENTS = 0.9, 3.0, 4.0


def main() -> None:
    """Write the recording and its order."""
    folder, dice = Path(sys.argv[1]), np.random.default_rng(11)
    record = chosen_layout(folder / "lantern-tenor.json")
    lines = {line.label: line for line in lines_of(record, record.reference.a4_hz)}
    table = read_table(folder / "lantern-tenor-notes.csv", "tuner table", QUANTITIES)
    rows = [row for row in table.rows if row.number("pass_1_cents") is not None]
    rows.append(rows[0])
    tones = []
    for number, row in enumerate(rows):
        shown = np.mean([value for header, value in row.values.items() if header.startswith("pass_")])
        off = shown + dice.normal(0.0, SCATTER_CENTS) + WARMER_CENTS * number / len(rows)
        hz = lines[row.word("note")].wanted_hz * 2.0 ** (off / 1200.0)
        tones.append(Played(float(hz), SECONDS, scoop_cents=30.0))
    sound = with_noise(performance(tones, dice, 0.3), 40.0, dice)
    soundfile.write(folder / "lantern-tenor-take.ogg", 0.8 * sound / np.max(np.abs(sound)), RATE)
    (folder / "lantern-tenor-order.txt").write_text("\n".join(row.word("note") for row in rows) + "\n")


if __name__ == "__main__":
    main()
