"""How long the finder takes over all fingerings that hands can hold, and what it makes of the charts' own lines.

    python tests/benchmarks/fingerings.py [lantern-tenor ...]

Each demo is solved once; then every fingering is looked through, and ways to every note of the chart are worked out.
"""

import sys
import time

from solved_demos import solved

from optimizer.analysis.fingerings import Finder, fingerings_of, wanted_notes
from optimizer.project.demos import demo_names, demo_path
from optimizer.project.loading import load_project


def shown(name):
    """One row of the table."""
    loaded, record = load_project(demo_path(name), rule_out=False), solved(name)
    begun = time.process_time()
    finder = Finder(loaded, record)
    looked = time.process_time()
    found = fingerings_of(finder, wanted_notes(loaded, record, (), 0.0), 50.0, 10_000)
    done = time.process_time()
    every = [way for note in found.notes for way in note.ways]
    own = {(way.register_number, round(way.frequency_hz, 6)) for way in every if way.kind == "chart"}
    main = [note for note in record.notes if not note.alternate and note.status == "ok" and abs(note.cents) < 50.0]
    again = sum((note.register_number, round(note.frequency_hz, 6)) in own for note in main)
    ways = sum(way.kind != "chart" and abs(way.cents) <= 15.0 for way in every)
    columns = (name, finder.reachable.fingerings, len(finder.reachable.openness), f"{looked - begun:.1f}",
               f"{done - looked:.1f}", f"{again} of {len(main)}", ways)  # fmt: skip
    print("|", " | ".join(map(str, columns)), "|", flush=True)


HEADS = (
    "instrument", "fingerings", "states", "looked through, s", "worked out, s", "main lines found again",
    "others within 15 cents",
)  # fmt: skip

if __name__ == "__main__":
    print("|", " | ".join(HEADS), "|")
    print("|", " | ".join("---" for _ in HEADS), "|")
    for each in sys.argv[1:] or demo_names():
        shown(each)
