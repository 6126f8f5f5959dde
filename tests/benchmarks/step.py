"""Every STEP file of every demo, in all three states, held against the layout that it was written from.

`.venv/bin/python tests/benchmarks/step.py` solves each demo once and takes what comes; layout files may be named
instead. Files that must not be handed over end a layout with their sentences. Where flats, holes or feet overlap there
is no arithmetic, and the mesh kernel's volume stands in its place.
"""

import resource
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[1] / "kit"))

from solved_demos import asked_for

from optimizer.handoff.meshes.mesh import piece_mesh
from optimizer.handoff.meshes.mesh_checks import surface_of
from optimizer.handoff.reamed import advice_of, less_mm
from optimizer.handoff.shapes import drawn, sizing_of
from optimizer.handoff.shapes.volume import volume_mm3
from optimizer.handoff.step.step_files import file_of, write_step_files
from optimizer.project.faults import Fault
from optimizer.records.layout import LayoutRecord

HEADS = (
    "instrument", "file", "solids", "valid", "open holes", "genus", "volume mm3", "off by arithmetic", "off by mesh",
    "holes off mm", "box mm", "thinnest mm", "where",
)  # fmt: skip


def print_rows(record: LayoutRecord) -> None:
    """A row for each file of each state."""
    less = less_mm(advice_of(record))
    drawings = [drawn(record, sizing_of(record, state, less)) for state in ("finished", "printed", "printed to ream")]
    with TemporaryDirectory() as folder:
        checks = write_step_files(record, drawings, Path(folder))
    pieces = [piece for drawing in drawings for piece in drawing.pieces if volume_mm3(piece) is None]
    overlapping = {file_of(piece): surface_of(piece_mesh(piece)).volume_mm3 for piece in pieces}
    for check in checks:
        found = check.found
        genus = found.solids - found.euler // 2
        cells = [
            record.instrument,
            check.file,
            f"{found.solids} of {check.solids}",
            found.valid,
            f"{-found.euler // 2} of {check.open_holes}",
            genus,
            f"{found.volume_mm3:.2f}",
            "" if check.volume_off is None else f"{check.volume_off:+.1e}",
            "" if check.file not in overlapping else f"{found.volume_mm3 / overlapping[check.file] - 1.0:+.1e}",
            f"{check.holes_off_mm:.1e}",
            " x ".join(f"{side:.1f}" for side in found.box_mm),
            "" if check.thinnest is None else f"{check.thinnest.mm:.2f}",
            "" if check.thinnest is None else check.thinnest.where,
        ]
        print(f"| {' | '.join(map(str, cells))} |", flush=True)


def main() -> None:
    records = asked_for(__doc__)
    print(f"| {' | '.join(HEADS)} |\n|{' --- |' * len(HEADS)}")
    for record in records:
        begun = [resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()]
        try:
            print_rows(record)
        except Fault as fault:
            print(f"{record.instrument}: {fault.heading}", *fault.problems, sep="\n  ")
        spent, wall = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter() - begun[1]
        processor = spent.ru_utime + spent.ru_stime - begun[0].ru_utime - begun[0].ru_stime
        most = f"at most {spent.ru_maxrss / 1024:.0f} MiB"
        print(
            f"{record.instrument}: kernel {processor:.1f} s of processor time, {most}; {wall:.0f} s in all", flush=True
        )


if __name__ == "__main__":
    main()
