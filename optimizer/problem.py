"""A project compiled for search: x in, residuals and constraints with exact Jacobians out."""

import copy
from collections.abc import Callable, Sequence
from typing import NamedTuple

import jax
import jax.numpy as jnp
import numpy as np

from acoustics.arrays import Array
from acoustics.charts import chain_errors
from acoustics.network import Duct
from acoustics.resonances import note_errors
from acoustics.staging import staged
from optimizer.chart import openness_matrix
from optimizer.choices import Choices, choice_arrays, lines_played, plain_choices
from optimizer.compiled_code import mark_of
from optimizer.constraints import build_constraints
from optimizer.hand import finger_pairs, pair_distances, strains
from optimizer.layout import Choice, Layout, parametrise
from optimizer.limits import body_radius_mm, bore_radius_mm
from optimizer.objective import lattice_cutoffs, layout_bends
from optimizer.project_file import LoadedProject
from optimizer.sounding import climate_of, fittings, make_duct
from optimizer.targets import frequencies, targets, weights

SCREEN_CENTS = 200.0
"""A note further off than this counts no more when layouts are screened."""


class Evaluation(NamedTuple):
    """Everything at one x: tuning errors (N,) [cents], finger strains (P,), bends (E,), constraints (m,) [mm]."""

    errors: Array
    strain: Array
    bend: Array
    constraint: Array


class Measures(NamedTuple):
    """What can be measured on a layout without sounding it.

    strain (P,), bend (E,), constraint (m,) [mm], pair distance (P,) [mm], bore radius (H,) [mm],
    lattice cutoff of the inner holes of the open row (L - 2,) [Hz]
    """

    strain: Array
    bend: Array
    constraint: Array
    pair_distance: Array
    bore_radius: Array
    cutoff: Array


class Problem:
    """What a solver needs to know of a project, with every discrete choice made: at first the plain ones.

    Attributes
    ----------
    notes : the chart lines that are played; targets : one for each
    openness (N, H); f_target (N,) [Hz]; weight (N,); main (N,) no alternate
    choice : the discrete choices as arrays
    duct_of : `duct`, compiled
    parametrisation, constraints : see their modules
    """

    def __init__(self, loaded: LoadedProject) -> None:
        self.loaded = loaded
        self.project = loaded.project
        self.parametrisation = parametrise(loaded.project)
        self.constraints = build_constraints(loaded.project)
        self.pairs = finger_pairs(loaded.project)
        keep = staged(closes_over=mark_of(loaded.project, *loaded.notes))
        self._compiled_measure: Callable[[Layout], Measures] = keep(self._measure)
        self._place: Callable[[Array, Choice], Layout] = keep(self.parametrisation.layout)
        self._shape: Callable[[np.ndarray, Choice], Duct] = keep(self._duct_of)
        self.duct_of: Callable[[Layout], Duct] = keep(self.duct)
        self._pull_back: Callable[[np.ndarray, Choice, Duct], Array] = keep(self._pulled_back)
        self._smooth_and_slopes: Callable[[np.ndarray, Choice], tuple[tuple[Array, ...], tuple[Array, ...]]] = keep(
            lambda x, choice: (self._smooth(x, choice), jax.jacfwd(self._smooth)(x, choice))
        )
        self._screen: Callable[[np.ndarray], Array] = keep(self._screened)
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
        """This problem with other choices, sharing all compiled code, and the start x (n,) with the joints in place.

        joints_mm : where the joints start, when known
        """
        other = copy.copy(self)
        layout = self.layout(x)
        joints = other._make(choices, np.asarray(layout.position_mm), joints_mm)
        return other, self.parametrisation.encode(layout._replace(joint_mm=joints))

    def judged_as(self, loaded: LoadedProject) -> "Problem":
        """This problem for records of another project that only holds more of its numbers fast; all compiled code is
        shared."""
        other = copy.copy(self)
        other.loaded, other.project = loaded, loaded.project
        return other

    def layout(self, x: Array) -> Layout:
        """The layout of x (n,) with this problem's choices."""
        return self._place(x, self.choice)._replace(choice=self.choice)

    def duct(self, layout: Layout) -> Duct:
        """The duct of a layout; differentiable."""
        project = self.project
        return make_duct(layout, fittings(layout, project), project.bore, project.reed, climate_of(project.air))

    def _measure(self, layout: Layout) -> Measures:
        project, body = self.project, body_radius_mm(layout, self.project)
        distances = pair_distances(layout, project, body, self.pairs)
        return Measures(
            strains(distances, self.pairs),
            layout_bends(layout, project),
            self.constraints.values(layout),
            distances,
            bore_radius_mm(layout, project),
            lattice_cutoffs(layout, project),
        )

    def measure(self, layout: Layout) -> Measures:
        """Reach, evenness and constraints of one layout."""
        return Measures(*map(np.asarray, self._compiled_measure(jax.tree.map(jnp.asarray, layout))))

    def duct_at(self, x: np.ndarray) -> Duct:
        """The duct of x (n,), compiled."""
        return self._shape(x, self.choice)

    def _smooth(self, x: Array, choice: Choice) -> tuple[Array, Array, Array]:
        return self._measure(self.parametrisation.layout(x, choice))[:3]

    def _duct_of(self, x: Array, choice: Choice) -> Duct:
        return self.duct(self.parametrisation.layout(x, choice))

    def _pulled_back(self, x: Array, choice: Choice, slopes: Duct) -> Array:
        """Slopes by the duct's numbers, rows (N,), to slopes by x (N, n)."""
        _, backward = jax.vjp(lambda moving: self._duct_of(moving, choice), x)
        by_x: Array = jax.vmap(lambda row: backward(row)[0])(slopes)
        return by_x

    def _screened(self, points: Array) -> Array:
        ducts = jax.vmap(lambda x: self.duct(self.layout(x)))(points)
        errors = chain_errors(ducts, self.openness, self.f_target)
        share = self.weight / np.sum(self.weight)
        return jnp.sqrt(jnp.clip(errors, -SCREEN_CENTS, SCREEN_CENTS) ** 2 @ share)

    def screen(self, points: np.ndarray) -> np.ndarray:
        """How far out of tune points (B, n) are, roughly (B,) [cents]: with the plain choices, without interaction."""
        return np.asarray(self._screen(points))

    def evaluate(self, x: np.ndarray) -> tuple[Evaluation, Evaluation]:
        """Values at x (n,) and their Jacobians (rows, n)."""
        found = note_errors(self.duct_at(x), self.openness, self.f_target)
        values, slopes = self._smooth_and_slopes(x, self.choice)
        return (
            Evaluation(*map(np.asarray, (found.error, *values))),
            Evaluation(*map(np.asarray, (self._pull_back(x, self.choice, found.slope), *slopes))),
        )
