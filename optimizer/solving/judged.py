"""A layout judged as it is written: its notes by real resonances, what it reaches, its limits and what binds.

All that a record says of a layout that changes with every move of a hole; keys, pieces and mass are left to
`assemble`.
"""

from typing import NamedTuple

import numpy as np

from acoustics.network import Duct
from optimizer.geometry.build import build_of
from optimizer.geometry.choices import chosen_figures
from optimizer.geometry.layout import STEP, Layout, key_of, layout_bounds, place_name
from optimizer.geometry.surface import NEVER_MM
from optimizer.limits.catalogue import TOUCHING_MM
from optimizer.project.model import Project
from optimizer.project.objectives import SILENT_CENTS
from optimizer.records.layout import (
    Binding,
    BoreTable,
    HoleRecord,
    NoteRecord,
    ReachRecord,
    ReedRecord,
    Reference,
)
from optimizer.records.pieces import PieceRecord
from optimizer.records.shares import Share
from optimizer.records.steps import unevenness
from optimizer.records.verdict import violation_mm
from optimizer.solving.figures_of_merit import figures, robustness
from optimizer.solving.holes import hole_records
from optimizer.solving.pieces import piece_records
from optimizer.solving.problem import Measures, Problem
from optimizer.solving.real_resonances import Fingerings, Sounding, doubt_shares, saved_duct, sounded, soundings


class Verdict(NamedTuple):
    """What a layout comes to; the fields go into its record by their names, but for measures and duct."""

    measures: Measures
    duct: Duct
    reference: Reference
    reed: ReedRecord
    bore: BoreTable
    holes: list[HoleRecord]
    pieces: list[PieceRecord]
    notes: list[NoteRecord]
    doubt: list[Share]
    reach: list[ReachRecord]
    objectives: dict[str, float]
    feasible: bool
    margins_mm: dict[str, float]
    binds: list[Binding]


def judge(problem: Problem, layout: Layout, in_haste: bool = False) -> Verdict:
    """A layout as it is written, judged by its real resonances and measured.

    Parameters
    ----------
    problem : whose project it is a layout of
    layout : rounded
    in_haste : leave out the doubt of its notes, unless one of its other figures needs that
    """
    project = problem.project
    measures = problem.measure(layout)
    bore, holes = bore_table(problem, layout), hole_records(problem, layout, measures)
    reed = ReedRecord(**project.reed.model_dump(exclude={"volume_cm3"}), volume_cm3=float(layout.reed_volume_cm3))
    reference = _reference(project)
    duct = saved_duct(bore, holes, reed, project.air, project.learned)
    pieces = piece_records(project, layout, bore.points_mm, holes)
    asked, spread = _asked(problem), None
    if in_haste and project.learned is None and not project.search.objectives.robustness:
        heard = sounded(duct, asked, reference)
    else:
        heard, spread = soundings(duct, asked, reference, build_of(bore, pieces, holes))
    notes = _note_records(problem, heard)
    margins = {
        item.name: round(-float(value), 3)
        for item, value in zip(problem.constraints.items, measures.constraint, strict=True)
        if value > NEVER_MM
    }
    return Verdict(
        measures=measures,
        duct=duct,
        reference=reference,
        reed=reed,
        bore=bore,
        holes=holes,
        pieces=pieces,
        notes=notes,
        doubt=[] if spread is None else doubt_shares(notes, spread),
        reach=_reach_records(problem, measures),
        objectives=_figures(problem, heard, measures, holes, notes) | chosen_figures(project, layout),
        feasible=violation_mm(margins) <= 0.0 and all(sound.status == "ok" for sound in heard),
        margins_mm=margins,
        binds=_wrong_notes(problem, heard) + _bindings(problem, layout, margins),
    )


def _reference(project: Project) -> Reference:
    """What the notes are judged by."""
    return Reference(
        a4_hz=project.scale.a4_hz,
        temperament=project.scale.temperament,
        transposition_semitones=project.instrument.transposition_semitones,
        air=project.air,
        uncertainty=project.uncertainty,
        uncertainty_from_tolerance=project.uncertainty.from_tolerance(project.printer),
        uncertainty_from_printer=project.uncertainty.from_printer(project.printer),
        register_ratio_min=project.search.register_ratio_min,
        learned=project.learned,
    )


def _asked(problem: Problem) -> Fingerings:
    return Fingerings(
        problem.openness,
        np.array([note.register for note in problem.notes]),
        problem.f_target,
        np.array([hole.role == "vent" for hole in problem.project.holes]),
    )


def _figures(
    problem: Problem,
    heard: list[Sounding],
    measures: Measures,
    holes: list[HoleRecord],
    notes: list[NoteRecord],
) -> dict[str, float]:
    errors = np.array([SILENT_CENTS if sound.cents is None else sound.cents for sound in heard])
    found = figures(errors, problem.weight, problem.main, np.asarray(measures.strain))
    found["unevenness"] = unevenness(holes, notes)
    if problem.project.search.objectives.robustness:
        made = [sound.making_sd_cents for sound in heard]
        found["robustness"] = robustness(made, [note.alternate for note in problem.notes])
    return found


def bore_table(problem: Problem, layout: Layout) -> BoreTable:
    """The bore cut or continued to the layout's end."""
    section = problem.project.bore
    points = problem.constraints.fixed.shape.ended(layout)
    return BoreTable(
        points_mm=points,
        wall_mm=section.wall_mm,
        crook_end_mm=section.crook_end_mm,
        staple_end_mm=section.staple_end_mm,
        crook_wall_mm=section.crook_wall_mm if section.crook_end_mm else None,
        shaped_by={name: float(getattr(layout, name)) for name in section.shaped_by},
        bends=problem.project.bends,
    )


def _note_records(problem: Problem, heard: list[Sounding]) -> list[NoteRecord]:
    return [
        NoteRecord(
            written=note.written,
            sounding=target.sounding,
            written_midi=note.midi,
            sounding_midi=target.midi,
            register_number=note.register,
            alternate=note.alternate,
            touches=note.touches,
            openness=list(note.openness),
            weight=target.weight,
            target_hz=target.frequency,
            **sound._asdict(),
        )
        for note, target, sound in zip(problem.notes, problem.targets, heard, strict=True)
    ]


def _reach_records(problem: Problem, measures: Measures) -> list[ReachRecord]:
    return [
        ReachRecord(
            pair=pair.label,
            spacing_mm=round(float(distance), 2),
            comfortable_mm=round(pair.comfortable_mm, 2),
            working_mm=round(pair.working_mm, 2),
            maximum_mm=round(pair.limits.maximum_mm, 2),
            sd_mm=round(pair.limits.sd_mm, 2),
            basis=pair.limits.basis,
        )
        for pair, distance in zip(problem.pairs, measures.pair_distance, strict=True)
    ]


def _wrong_notes(problem: Problem, heard: list[Sounding]) -> list[Binding]:
    """What stands between a layout and feasibility besides limits: notes that do not sound as wanted."""
    found = []
    for note, sound in zip(problem.notes, heard, strict=True):
        said = {
            "silent": f"{note.label} has no resonance within {SILENT_CENTS:g} cents of its pitch",
            "other register": f"{note.label} sounds resonance {sound.resonance_number}, not {note.register}",
            "weak": f"{note.label} stands lower than the resonance below it, which will speak instead",
        }.get(sound.status)
        if said:
            found.append(Binding(name=f"note.{note.label}", margin_mm=0.0, sentence=said))
    return found


def _bindings(problem: Problem, layout: Layout, margins: dict[str, float]) -> list[Binding]:
    """Constraints within `TOUCHING_MM` of their limit, and ranges whose end was reached."""
    sentences = {item.name: item.sentence for item in problem.constraints.items}
    found = [
        Binding(name=name, margin_mm=margin, sentence=sentences[name])
        for name, margin in margins.items()
        if margin <= TOUCHING_MM
    ]
    ids = [hole.id for hole in problem.project.holes]
    lowest, highest = layout_bounds(problem.project)
    for name in (name for name in STEP if name != "joint_mm"):
        value, low, high = (np.atleast_1d(getattr(item, name)) for item in (layout, lowest, highest))
        for entry in np.flatnonzero((high > low) & (np.minimum(value - low, high - value) <= 1e-9)):
            end, limit = ("least", low[entry]) if value[entry] <= low[entry] else ("greatest", high[entry])
            place = place_name(name, int(entry), ids, list(problem.project.rows.by_side))
            sentence = f"{key_of(place)} is at its {end}, {limit:g}; a wider range may help"
            found.append(Binding(name=f"range.{place}", margin_mm=0.0, sentence=sentence))
    return found
