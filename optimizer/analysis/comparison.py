"""Layouts held against the first of them. Reads records only."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from optimizer import cautions
from optimizer.analysis.body_changes import hole_changes, key_changes, piece_changes, reach_changes
from optimizer.analysis.front_comparison import front_comparison
from optimizer.analysis.note_changes import in_common, note_changes, pitch_of, respelled
from optimizer.project.faults import Fault
from optimizer.records.comparison import BindChange, ComparedLayout, Comparison, ComparisonRecord, Thresholds
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord
from optimizer.records.mass import printed_body
from optimizer.records.named_layouts import chosen_file, front_of
from optimizer.records.run import FrontRecord

MARKS = "ABCDEFGH"
"""Letters that the compared go by, and so how many there may be."""


class ComparisonError(Fault):
    """Layouts that cannot be compared; the message says why."""


@dataclass(frozen=True)
class Candidate:
    """A layout to compare: its file and, where it was chosen from a run, that run's folder and front."""

    record: LayoutRecord
    file: str
    run: str | None = None
    front: FrontRecord | None = None


def candidate(path: Path) -> Candidate:
    """A layout file as it is, or of a run folder the layout nearest in tune (the nearest to feasible, if none is).

    Raises
    ------
    RecordError
        when the path is neither, or the run has no layout yet
    """
    file = chosen_file(path)
    run, front = (str(path), front_of(path)) if path.is_dir() else (None, None)
    return Candidate(read_record(file, LayoutRecord), str(file), run, front)


def compared(candidates: Sequence[Candidate], density_g_per_cm3: float | None = None) -> ComparisonRecord:
    """All candidates against the first.

    Parameters
    ----------
    candidates : layouts
    density_g_per_cm3 : of every print; by default each is weighed as its own project states

    Raises
    ------
    ComparisonError
        when there are fewer than two or more than `MARKS`, or one has no note in common with the first
    """
    if not 2 <= len(candidates) <= len(MARKS):
        raise ComparisonError(f"name from 2 to {len(MARKS)} runs or layouts, but there are {len(candidates)}")
    limits = Thresholds()
    layouts = [_summary(mark, each, density_g_per_cm3) for mark, each in zip(MARKS, candidates, strict=False)]
    comparisons = [
        _comparison(candidates[0], other, (MARKS[0], layout.mark), limits)
        for other, layout in zip(candidates[1:], layouts[1:], strict=True)
    ]
    grown = all(cautions.for_adult(candidate.record.cautions) for candidate in candidates)
    said = [cautions.REACH, *(() if grown else (cautions.CHILD,)), cautions.PRINTING]
    return ComparisonRecord(layouts=layouts, comparisons=comparisons, thresholds=limits, cautions=said)


def _summary(mark: str, candidate: Candidate, density_g_per_cm3: float | None) -> ComparedLayout:
    record = candidate.record
    return ComparedLayout(
        mark=mark,
        file=candidate.file,
        run=candidate.run,
        id=record.id,
        instrument=record.instrument,
        feasible=record.feasible,
        objectives=record.objectives,
        holes=len(record.holes),
        body_length_mm=record.bore.points_mm[-1][0],
        bell_diameter_mm=record.bore.points_mm[-1][1],
        printed=printed_body(record, density_g_per_cm3),
    )


def _comparison(first: Candidate, other: Candidate, marks: tuple[str, str], limits: Thresholds) -> Comparison:
    a, b = first.record, other.record
    notes = note_changes(a.notes, respelled(b.notes, {pitch_of(note): note.written for note in a.notes}))
    if not in_common(notes):
        raise ComparisonError(
            f"{first.file} ({a.instrument}) and {other.file} ({b.instrument}) have no note of the same register in "
            f"common: {_range(a)}, against {_range(b)}"
        )
    fronts = None
    if first.front is not None and other.front is not None:
        fronts = front_comparison(first.front, other.front, marks)
    return Comparison(
        first=marks[0],
        other=marks[1],
        remarks=_remarks(first, other, marks),
        notes=notes,
        holes=hole_changes(a.holes, b.holes, limits),
        reach=reach_changes(a.reach, b.reach),
        keys=key_changes(a.keys, b.keys, limits),
        pieces=piece_changes(a.pieces, b.pieces),
        binds=_binds(a, b),
        fronts=fronts,
    )


def _range(record: LayoutRecord) -> str:
    return f"{record.notes[0].written} to {record.notes[-1].written}" if record.notes else "no notes"


def _binds(first: LayoutRecord, other: LayoutRecord) -> BindChange:
    before, after = [each.name for each in first.binds], [each.name for each in other.binds]
    return BindChange(
        only_first=[name for name in before if name not in after],
        only_other=[name for name in after if name not in before],
        both=[name for name in before if name in after],
    )


def _remarks(first: Candidate, other: Candidate, marks: tuple[str, str]) -> list[str]:
    """What a reader of the figures must know of the two."""
    a, b = first.record, other.record
    said = [
        f"{mark} is not feasible: a limit is broken or a note does not sound as wanted"
        for mark, record in zip(marks, (a, b), strict=True)
        if not record.feasible
    ]
    if a.instrument != b.instrument:
        said.append("they are of different instruments; holes and keys are matched by their names alone")
    for words, name in (("pitch", "a4_hz"), ("temperament", "temperament"), ("air", "air")):
        if getattr(a.reference, name) != getattr(b.reference, name):
            said.append(f"their {words} differs, so cents count from different targets or in different air")
    if a.reference.transposition_semitones != b.reference.transposition_semitones:
        said.append("they transpose differently: notes match as written, and sound apart")
    if a.reach and b.reach and {p.pair: p.working_mm for p in a.reach} != {p.pair: p.working_mm for p in b.reach}:
        said.append("they were made for different hands: the limits of reach differ")
    return said
