"""A project as a solver sees it: x in, residuals and constraints with exact Jacobians out."""

import copy
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from acoustics.arrays import Array, leaves, map_arrays
from acoustics.duals import Dual, slopes_of, value_of
from acoustics.network import Duct
from acoustics.resonances import batch_errors, chart_errors, moved_errors
from optimizer.geometry.bore_shape import BoreShape
from optimizer.geometry.build import Build, stretches_of
from optimizer.geometry.choices import Choices, choice_arrays, lines_played, plain_choices
from optimizer.geometry.deviations import as_learned
from optimizer.geometry.duct import climate_of, fittings, lined_holes, make_duct
from optimizer.geometry.layout import Layout, parametrise
from optimizer.geometry.measured_layout import Geometry, fixed_of
from optimizer.limits.catalogue import build_constraints
from optimizer.project.chart import openness_matrix
from optimizer.project.fingers import finger_pairs
from optimizer.project.learned import FORMULAS
from optimizer.project.loading import LoadedProject
from optimizer.project.model import Project
from optimizer.project.scale import frequencies, targets, weights
from optimizer.solving.figures_of_merit import Unevenness
from optimizer.solving.uncertainty import known_cents

SCREEN_CENTS = 200.0
"""A note further off than this counts no more when layouts are screened."""


class Evaluation(NamedTuple):
    """Everything at one x: errors (N,) [cents], finger strains (P,), steps and bends (E,), constraints (m,) [mm]."""

    errors: Array
    strain: Array
    uneven: Array
    constraint: Array


class Measures(NamedTuple):
    """What can be measured on a layout without sounding it.

    strain (P,), steps and bends (E,), constraint (m,) [mm], pair distance (P,) [mm], bore radius (H,) [mm],
    lattice cutoff of the inner holes of the open row (L - 2,) [Hz]
    """

    strain: Array
    uneven: Array
    constraint: Array
    pair_distance: Array
    bore_radius: Array
    cutoff: Array


class Problem:
    """What a solver needs to know of a project, with every discrete choice made: at first the plain ones.

    Only the project decides parametrisation, constraints, unevenness and pairs, which problems of other choices share.

    Attributes
    ----------
    loaded, project : the project
    parametrisation, constraints, unevenness : see their modules
    pairs : (P,) finger pairs
    notes, targets : (N,) chart lines that are played, and what each should sound
    openness : (N, H) 0 closed, 1 open, between: open share of the hole's area
    f_target : (N,) [Hz]
    weight : (N,) how much each note counts
    main : (N,) True for no alternate
    choice : the discrete choices as arrays
    """

    def __init__(self, loaded: LoadedProject) -> None:
        self.loaded = loaded
        self.project = loaded.project
        self.parametrisation = parametrise(loaded.project)
        self._build, self._shape = _as_built(loaded.project)
        self.constraints = build_constraints(loaded.project)
        self._loose = self.constraints
        if loaded.project.stock is not None:
            self._loose = build_constraints(loaded.project.model_copy(update={"stock": None}))
        self.unevenness = Unevenness(loaded.project, loaded.notes)
        self.pairs = finger_pairs(loaded.project)
        self._make(plain_choices(loaded.project, loaded.notes), np.array(self.parametrisation.lowest.position_mm), ())

    def _make(self, choices: Choices, position_mm: np.ndarray, joints_mm: Sequence[float]) -> np.ndarray:
        """Make the choices for holes at position_mm (H,); where the joints start (J,) [mm]."""
        played = lines_played(self.loaded.notes, choices)
        self.notes = [note for note, wanted in zip(self.loaded.notes, played, strict=True) if wanted]
        self.targets = targets(self.project, self.notes)
        self.openness = openness_matrix(self.notes)
        self.f_target = frequencies(self.targets)
        self.weight = weights(self.targets)
        self.main = np.array([not note.alternate for note in self.notes])
        self.choice, joints = choice_arrays(self.project, choices, position_mm, joints_mm)
        return joints

    def chosen(self, choices: Choices, x: np.ndarray, joints_mm: Sequence[float] = ()) -> tuple["Problem", np.ndarray]:
        """This problem with other choices, and the start x (n,) with the joints in place.

        Parameters
        ----------
        choices : one way of choosing
        x : (n,) where the solve starts
        joints_mm : where the joints start [mm], when known
        """
        other = copy.copy(self)
        layout = self.layout(x)
        joints = other._make(choices, np.asarray(layout.position_mm), joints_mm)
        return other, self.parametrisation.encode(layout._replace(joint_mm=joints))

    @property
    def loose(self) -> "Problem":
        """This problem with pads as the rules ask for, whatever lies in the stock: they grow with their holes."""
        other = copy.copy(self)
        other.constraints = self._loose
        return other

    def judged_as(self, loaded: LoadedProject) -> "Problem":
        """This problem for records of another project that only holds more of its numbers fast."""
        other = copy.copy(self)
        other.loaded, other.project = loaded, loaded.project
        return other

    def layout(self, x: np.ndarray) -> Layout:
        """The layout of x (n,) with this problem's choices."""
        return self.parametrisation.layout(x, self.choice)

    def duct(self, layout: Layout) -> Duct:
        """The duct of a layout."""
        return self._sounding(Geometry(layout, self.constraints.fixed))

    def _sounding(self, at: Geometry) -> Duct:
        project = self.project
        climate = climate_of(project.air)
        drawn = make_duct(at.layout, fittings(at), self._shape, project.reed, climate, project.bends)
        return as_learned(drawn, project.learned, self._build)

    def duct_at(self, x: np.ndarray) -> Duct:
        """The duct of x (n,)."""
        return self.duct(self.layout(x))

    def measure(self, layout: Layout) -> Measures:
        """Strains, steps, bends and constraints of one layout; see `Measures` for shapes and units."""
        at = Geometry(layout, self.constraints.fixed)
        return Measures(*self._smooth(at), at.pair_distances, at.bore_radius, at.once(self.unevenness.cutoffs))

    def _smooth(self, at: Geometry) -> tuple[Array, Array, Array]:
        """Strains (P,), steps and bends (E,) and constraints (m,)."""
        strains = at.fixed.pairs.strains(at.pair_distances)
        return strains, self.unevenness.residuals(at), self.constraints.broken_by(at)

    def screen(self, points: np.ndarray) -> np.ndarray:
        """How far out of tune points (B, n) are, roughly (B,) [cents]: with the plain choices, without interaction."""
        ducts = map_arrays(lambda *rows: np.stack(rows), *map(self.duct_at, points))
        errors = batch_errors(ducts, self.openness, self.f_target, interaction=False)
        share = self.weight / np.sum(self.weight)
        return np.asarray(np.sqrt(np.clip(errors, -SCREEN_CENTS, SCREEN_CENTS) ** 2 @ share))

    def evaluate(self, x: np.ndarray) -> tuple[Evaluation, Evaluation]:
        """Values at x (n,) and their Jacobians (rows, n)."""
        at = Geometry(self.parametrisation.moving(x, self.choice), self.constraints.fixed)
        duct = self._sounding(at)
        sounding = any(isinstance(leaf, Dual) for leaf in leaves(duct))  # touches and joints move no sound
        errors = (moved_errors if sounding else chart_errors)(duct, self.openness, self.f_target)
        found = (errors + self._known(duct), *self._smooth(at))
        return Evaluation(*map(value_of, found)), Evaluation(*(slopes_of(item, x.size).T for item in found))

    def _known(self, duct: Duct) -> Array:
        """How far off the formulas are known to be at each note (N,) [cents]: as good as still while a layout moves."""
        learned = self.project.learned
        if learned is None or not any(learned.mean(kind) for kind in FORMULAS):
            return np.zeros(len(self.notes))
        return known_cents(map_arrays(value_of, duct), self.openness, np.asarray(self.f_target), learned)


def _as_built(project: Project) -> tuple[Build, BoreShape]:
    """How a project's instrument is put together, as far as what was learned asks, and its bore parted so."""
    bore, lined = project.bore, lined_holes(project)
    build = Build(stretches_of(bore.staple_end_mm, bore.crook_end_mm), lined=tuple(lined.tolist()))
    return build, fixed_of(project).shape if project.learned is None else BoreShape(bore, build.ends_mm)
