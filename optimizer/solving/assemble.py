"""From a solver's x to a finished layout record: rounded for the CAD stage, then judged as rounded.

Positions and sizes are rounded to 0.01 mm before anything is verified, so that a record comes to the same cents from
its own JSON. Limits are solved with 0.02 mm to spare for that.
"""

import numpy as np

from acoustics.validity import out_of_range
from optimizer import cautions
from optimizer.geometry.layout import STEP, Layout, layout_bounds, with_numbers
from optimizer.geometry.measured_layout import fixed_of, measured
from optimizer.limits.keys import touches_on_cups
from optimizer.limits.venting import not_so
from optimizer.project.water import wet_holes
from optimizer.records.layout import LayoutRecord
from optimizer.records.mass import instrument_mass
from optimizer.solving.holes import unsealed
from optimizer.solving.judged import judge
from optimizer.solving.keys import key_records
from optimizer.solving.pieces import printing_record
from optimizer.solving.problem import Problem
from optimizer.solving.rods import rod_sentences
from optimizer.solving.rows import row_records
from optimizer.solving.stock_records import stock_sentences, tools_at
from optimizer.solving.zones import fitting_records

DECIMALS_MM = 2
DECIMALS_FINE = 4


def rounded(problem: Problem, x: np.ndarray) -> Layout:
    """The layout of x (n,) as it will be written: 0.01 mm, else 0.0001, never past a bound; numbers fixed and sizes of
    the stock untouched."""
    lowest, highest = layout_bounds(problem.project)
    layout = problem.layout(x)
    fields = {}
    for name in STEP:
        decimals = DECIMALS_MM if name.endswith("_mm") else DECIMALS_FINE
        exact = np.asarray(getattr(layout, name), float)
        value = np.round(exact, decimals)
        if name == "diameter_mm":
            value = np.where([tool is not None for tool in tools_at(problem.project, layout)], exact, value)
        fields[name] = np.clip(value, getattr(lowest, name), getattr(highest, name))
    fields["touch_offset_mm"] = fields["touch_offset_mm"] * problem.choice.plate
    return with_numbers(layout, fields)


def assemble(problem: Problem, x: np.ndarray, layout_id: str, provenance: dict[str, str | int | float]) -> LayoutRecord:
    """A finished record: geometry rounded, notes by real resonances, objectives and margins of that geometry.

    Parameters
    ----------
    problem : what was solved
    x : (n,) where it came to rest, in units of `layout.STEP`
    layout_id : the record's name
    provenance : where it comes from
    """
    project = problem.project
    layout = rounded(problem, x)
    at, found = measured(layout, project), judge(problem, layout)
    rows = row_records(project, layout)
    keys = key_records(project, layout, found.holes, found.pieces, [finger for row in rows for finger in row.fingers])
    mass = instrument_mass(project, found.bore, found.holes, keys, found.pieces)
    return LayoutRecord(
        id=layout_id,
        instrument=project.instrument.name,
        reference=found.reference,
        reed=found.reed,
        bore=found.bore,
        holes=found.holes,
        keys=keys,
        rows=rows,
        fittings=fitting_records(project, layout, found.pieces),
        pieces=found.pieces,
        printing=printing_record(project),
        mass=mass,
        notes=found.notes,
        doubt=found.doubt,
        reach=found.reach,
        objectives=found.objectives,
        feasible=found.feasible,
        margins_mm=found.margins_mm,
        binds=found.binds,
        warnings=out_of_range(found.duct, [hole.id for hole in found.holes], *_note_range(problem)),
        to_settle=[
            *unsealed(found.holes),
            *stock_sentences(project, found.holes, found.pieces, provenance),
            *not_so(at),
            *touches_on_cups(at),
            *rod_sentences(keys, found.holes, fixed_of(project).fold),
            *wet_holes(project),
        ],
        cautions=[*cautions.of_all(project.hand.adult), *cautions.of_weight(mass.mass_g, project.hand.adult)],
        provenance=provenance,
    )


def _note_range(problem: Problem) -> tuple[float, float]:
    return float(problem.f_target.min()), float(problem.f_target.max())
