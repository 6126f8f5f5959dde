"""How sure the difference of two layouts in tuning is, both being printed and played.

Notes of a layout move by what making brings to each of its holes, which is its own, and by what it shares with any
other of its instrument: bore, shrinkage, air, reed, the formulas' errors. What is shared moves both layouts, each by
its own slopes, and cancels but for the difference of these. Tuning is T = |e + d|, a root mean square of errors e and
deviations d, which has no slope where e is small beside d: it is drawn, always with the same dice.
"""

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from acoustics.arrays import Floats
from acoustics.network import Duct
from acoustics.resonances import NoteErrors, note_errors
from optimizer.geometry.build import build_of, parted
from optimizer.geometry.deviations import OF_HOLES, PER_HOLE, Deviations, deviations
from optimizer.project.loading import LoadedProject
from optimizer.project.objectives import SILENT_CENTS
from optimizer.records.sameness import Sameness
from optimizer.solving.figures_of_merit import root_mean_square
from optimizer.solving.holes import hole_records
from optimizer.solving.judged import bore_table
from optimizer.solving.problem import Problem
from optimizer.solving.starts import Starts
from optimizer.solving.uncertainty import brought, model_errors

DRAWS, SEED = 4000, 1
"""So many draws, always the same: a standard deviation good to 1.2 %."""

SIZES = (0.4, 0.5, 0.6)
"""Holes of the textbook's layouts that a run's doubt is found from, as shares of their ranges; the middle one of the
three doubts counts, as a note that lies on the verge of another resonance has slopes beyond all measure."""


class Doubted(NamedTuple):
    """Notes of a layout with what may move them, each for one standard deviation [cents].

    Attributes
    ----------
    errors : (N,) as computed [cents]
    weight : (N,) how much each note counts
    main : (N,) True for no alternate
    own : (N, H) by size: what making brings to its holes
    shared : (N,) by name: what every layout of its instrument has in common
    """

    errors: Floats
    weight: Floats
    main: np.ndarray
    own: Mapping[str, Floats]
    shared: Mapping[str, Floats]


def doubted(
    found: NoteErrors, duct: Duct, openness: Floats, quality: Floats, may: Deviations, weight: Floats, main: np.ndarray
) -> Doubted:
    """Notes (N,) with what may move them.

    Parameters
    ----------
    found : errors and slopes of the notes
    duct : one (SI)
    openness : (N, H) 0 closed, 1 open, between: open share of the hole's area
    quality : (N,) of each note's resonance
    may : what may deviate (K,)
    weight : (N,) how much each note counts
    main : (N,) True for no alternate
    """
    cents, formulas = brought(found, model_errors(found, duct, openness, quality), may)
    shared = {name: cents[:, k] for k, name in enumerate(may.names) if may.sources[k] != OF_HOLES}
    shared |= {f"formula {number}": row for number, row in enumerate(formulas.T)}
    sizes = np.array([name.split(" of ")[0] if name not in shared else "" for name in may.names])
    own = {size: cents[:, sizes == size] for size in PER_HOLE}
    return Doubted(np.asarray(found.error), weight, main, own, shared)


def doubt_of_difference(first: Doubted, second: Doubted) -> dict[str, float]:
    """Standard deviation of the difference of two layouts of one instrument in tuning and worst note [cents].

    Parameters
    ----------
    first, second : their notes
    """
    names = list(dict.fromkeys([*first.shared, *second.shared]))
    dice = np.random.default_rng(SEED)
    common = dice.standard_normal((DRAWS, len(names)))
    one, other = (_drawn(layout, names, common, dice) for layout in (first, second))
    return {name: float(np.std(one[name] - other[name], ddof=1)) for name in one}


def _drawn(layout: Doubted, names: list[str], common: Floats, dice: np.random.Generator) -> dict[str, Floats]:
    """Tuning and worst note (B,) [cents] of a layout over draws (B, S) of what is shared; no note counts as further off
    than a silent one."""
    by_shared = np.zeros((len(names), len(layout.errors)))
    for row, name in enumerate(names):
        by_shared[row] = layout.shared.get(name, 0.0)
    cents = layout.errors + common @ by_shared
    for by in layout.own.values():
        cents = cents + dice.standard_normal((len(common), by.shape[1])) @ by.T
    cents = np.clip(cents, -SILENT_CENTS, SILENT_CENTS)
    judged = layout.main & (layout.weight > 0)
    return {
        "tuning": np.sqrt(cents**2 @ layout.weight / np.sum(layout.weight)),
        "worst_note": np.max(np.abs(cents[:, judged]), axis=1, initial=0.0),
    }


def sameness(loaded: LoadedProject) -> Sameness:
    """Below which difference two layouts of a project are the same, whatever search finds them.

    The doubt is that of the textbook's layout against another print of it, both in tune as computed: layouts of a front
    are much nearer to each other than to it.

    Parameters
    ----------
    loaded : the project
    """
    problem = Problem(loaded)
    starts = Starts(problem)
    layouts = [_as_if_in_tune(problem, starts.at(size)) for size in SIZES]
    found = [doubt_of_difference(layout, layout) for layout in layouts]
    middle = layouts[len(SIZES) // 2]
    return Sameness(
        stated_cents=loaded.project.search.same_tuning_cents,
        doubt_cents={name: round(float(np.median([one[name] for one in found])), 2) for name in found[0]},
        brought_cents={word: round(_brought(middle, by), 2) for word, by in middle.own.items()},
    )


def _as_if_in_tune(problem: Problem, x: np.ndarray) -> Doubted:
    """Notes of the layout of x (n,), in tune as computed, its body in one piece; walls aside, whose error takes a
    resonance's quality."""
    layout = problem.layout(x)
    build = build_of(bore_table(problem, layout), [], hole_records(problem, layout, problem.measure(layout)))
    duct = parted(problem.duct(layout), build)
    found = note_errors(duct, problem.openness, problem.f_target)
    may = deviations(duct, problem.project.uncertainty, build, problem.project.learned)
    quality = np.full(problem.f_target.shape, np.inf)
    notes = doubted(found, duct, problem.openness, quality, may, problem.weight, problem.main)
    return notes._replace(errors=np.zeros(problem.f_target.size))


def _brought(layout: Doubted, by: Floats) -> float:
    """What one kind of deviation brings to a main note, root mean square [cents]."""
    return root_mean_square(np.sqrt(np.sum(by[layout.main] ** 2, axis=1)))
