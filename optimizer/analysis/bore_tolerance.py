"""What the bore's own errors do, stretch by stretch: which piece of it has to be measured with pins.

Each part of the bore that is made as one (staple, crook, printed piece) is taken in stretches of `STRETCH_MM`, and each
stretch made 0.1 mm wider in diameter, by slopes.
"""

from itertools import pairwise

import numpy as np

from acoustics.resonances import note_errors
from optimizer.geometry.build import MM, Build, Stretch, parted
from optimizer.project.faults import Fault
from optimizer.records.layout import LayoutRecord
from optimizer.records.tolerance import BoreTolerance
from optimizer.solving.real_resonances import record_build, record_duct

STRETCH_MM = 50.0
TENTH_MM = 0.1
SHOWN_CENTS = 0.05


def bore_tolerance(record: LayoutRecord) -> list[BoreTolerance]:
    """Cents of a layout's main notes for each stretch of its bore, from the reed; none where no note sounds.

    Parameters
    ----------
    record : the layout

    Raises
    ------
    Fault
        for a layout whose geometry cannot be played
    """
    notes = [note for note in record.notes if note.frequency_hz is not None and not note.alternate]
    if not notes:
        return []
    places = _stretches(record_build(record), record.bore.points_mm[-1][0])
    build = Build(tuple(Stretch(part, "bore_diameter_mm", end) for part, _, end in places))
    openness = np.array([note.openness for note in notes])
    try:
        duct = parted(record_duct(record), build)
        slope = note_errors(duct, openness, np.array([note.frequency_hz for note in notes], float)).slope.bore.radius
    except ValueError as error:  # of linear algebra, too
        raise Fault(f"the layout holds no playable geometry: {error}") from None
    belongs = build.of_points(duct)
    names = [note.written for note in notes]
    found = []
    for number, (part, begin, end) in enumerate(places):
        cents = 0.5 * MM * TENTH_MM * np.sum(slope[:, belongs == number], axis=1)
        most = int(np.argmax(np.abs(cents)))
        found.append(
            BoreTolerance(
                part=part,
                from_mm=begin,
                to_mm=end,
                moves={n: float(by) for n, by in zip(names, cents, strict=True) if abs(by) >= SHOWN_CENTS},
                note=names[most],
                cents_per_tenth=float(cents[most]),
                rms_cents=float(np.sqrt(np.mean(cents**2))),
            )
        )
    return found


def bore_told(record: LayoutRecord) -> list[BoreTolerance]:
    """The same for a page, which does without where a layout's geometry cannot be played."""
    try:
        return bore_tolerance(record)
    except Fault:
        return []


def _stretches(build: Build, end_mm: float) -> list[tuple[str, float, float]]:
    """Parts of a bore in stretches: of what, from where, to where [mm]; a rest below half a stretch goes with the one
    before it."""
    found, begin = [], 0.0
    for stretch in build.stretches:
        end = min(stretch.end_mm, end_mm)
        part = stretch.name.removeprefix("bore of ")
        count = max(1, int((end - begin) / STRETCH_MM + 0.5))
        cuts = [*(begin + STRETCH_MM * np.arange(count)).tolist(), end]
        found += [(part, low, high) for low, high in pairwise(cuts) if high > low]
        begin = end
    return found
