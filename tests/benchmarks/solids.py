"""Every piece of every demo as a file for the slicer, in all three states, held against what it was made from.

`.venv/bin/python tests/benchmarks/solids.py` solves each demo once and takes what comes; layout files may be named
instead. A piece that must not be handed over ends it with its sentences.
"""

import sys
import time
from collections.abc import Iterator
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "kit"))

from solved_demos import asked_for

from optimizer.analysis.reaming import reaming
from optimizer.analysis.sensitivity import sensitivity
from optimizer.handoff.meshes.laid import how_laid
from optimizer.handoff.meshes.slicer_files import SlicerFile, slicer_files
from optimizer.handoff.shapes import drawn, sizing_of
from optimizer.records.layout import LayoutRecord

HEADS = (
    "instrument", "state", "file", "laid", "bodies", "closed", "V-E+F", "holes", "triangles", "volume mm3",
    "off by arithmetic", "box mm", "bed mm", "thinnest mm", "where",
)  # fmt: skip

WORTH_CENTS = 0.5
"""Least cents per 0.1 mm for which a hole is worth reaming, as `tolerance` has it unless told otherwise."""


def rows(record: LayoutRecord) -> Iterator[list[str]]:
    """A row for each file of each state."""
    less = {each.hole: each.under_mm for each in reaming(record, sensitivity(record), WORTH_CENTS) if each.under_mm}
    for state in ("finished", "printed", "printed to ream"):
        for file in slicer_files(drawn(record, sizing_of(record, state, less)), record.printing):
            yield [record.instrument, state, *row(file, record)]


def row(file: SlicerFile, record: LayoutRecord) -> list[str]:
    """What a file was held against."""
    found, surface = file.checked, file.checked.surface
    return [
        file.name,
        how_laid(found.piece, record.printing),
        str(surface.bodies),
        str(surface.closed),
        str(surface.euler),
        str(len(found.piece.holes)),
        str(found.triangles),
        f"{surface.volume_mm3:.2f}",
        "flats overlap" if found.off is None else f"{found.off:+.1e}",
        " x ".join(f"{wide:.1f}" for wide in surface.box_mm),
        "not told" if found.usable_mm is None else " x ".join(f"{wide:g}" for wide in found.usable_mm),
        f"{found.thinnest.mm:.2f}",
        found.thinnest.where,
    ]


def main() -> None:
    """Print the table."""
    records = asked_for(__doc__)
    print(f"| {' | '.join(HEADS)} |\n|{' --- |' * len(HEADS)}")
    for record in records:
        begun = time.process_time()
        for cells in rows(record):
            print(f"| {' | '.join(cells)} |", flush=True)
        print(f"{record.instrument}: {time.process_time() - begun:.1f} s of processor time", flush=True)


if __name__ == "__main__":
    main()
