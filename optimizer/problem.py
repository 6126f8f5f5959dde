"""A project compiled for search: x in, residuals and constraints with exact Jacobians out."""

from collections.abc import Callable
from functools import cached_property
from typing import NamedTuple

import jax
import jax.numpy as jnp
import numpy as np

from acoustics.arrays import Array
from acoustics.network import Duct
from acoustics.resonances import note_errors
from optimizer.chart import openness_matrix
from optimizer.constraints import build_constraints
from optimizer.hand import finger_pairs, pair_distances, strains
from optimizer.layout import Layout, parametrise
from optimizer.limits import body_radius_mm, bore_radius_mm
from optimizer.objective import lattice_cutoffs, layout_bends
from optimizer.project_file import LoadedProject
from optimizer.sounding import climate_of, fittings, make_duct
from optimizer.targets import frequencies, targets, weights


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
    """What a solver needs to know of a project.

    Attributes
    ----------
    targets : one per chart line; openness (N, H); f_target (N,) [Hz]; weight (N,); main (N,) no alternate
    parametrisation, constraints : see their modules
    """

    def __init__(self, loaded: LoadedProject) -> None:
        self.loaded = loaded
        self.project = loaded.project
        self.targets = targets(loaded.project, loaded.notes)
        self.openness = openness_matrix(loaded.notes)
        self.f_target = frequencies(self.targets)
        self.weight = weights(self.targets)
        self.main = np.array([not note.alternate for note in loaded.notes])
        self.parametrisation = parametrise(loaded.project)
        self.constraints = build_constraints(loaded.project)
        self.pairs = finger_pairs(loaded.project)

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

    @cached_property
    def _compiled_measure(self) -> Callable[[Layout], Measures]:
        return jax.jit(self._measure)

    def measure(self, layout: Layout) -> Measures:
        """Reach, evenness and constraints of one layout."""
        return Measures(*map(np.asarray, self._compiled_measure(Layout(*map(jnp.asarray, layout)))))

    def _smooth(self, x: Array) -> tuple[Array, Array, Array]:
        return self._measure(self.parametrisation.layout(x))[:3]

    @cached_property
    def _shape(self) -> Callable[[np.ndarray], Duct]:
        return jax.jit(lambda x: self.duct(self.parametrisation.layout(x)))

    @cached_property
    def _pull_back(self) -> Callable[[np.ndarray, Duct], Array]:
        """Slopes by the duct's numbers, rows (N,), to slopes by x (N, n)."""

        def pull(x: Array, slopes: Duct) -> Array:
            _, backward = jax.vjp(lambda moving: self.duct(self.parametrisation.layout(moving)), x)
            by_x: Array = jax.vmap(lambda row: backward(row)[0])(slopes)
            return by_x

        return jax.jit(pull)

    @cached_property
    def _smooth_and_slopes(self) -> Callable[[np.ndarray], tuple[tuple[Array, ...], tuple[Array, ...]]]:
        return jax.jit(lambda x: (self._smooth(x), jax.jacfwd(self._smooth)(x)))

    def evaluate(self, x: np.ndarray) -> tuple[Evaluation, Evaluation]:
        """Values at x (n,) and their Jacobians (rows, n)."""
        found = note_errors(self._shape(x), self.openness, self.f_target)
        values, slopes = self._smooth_and_slopes(x)
        return (
            Evaluation(*map(np.asarray, (found.error, *values))),
            Evaluation(*map(np.asarray, (self._pull_back(x, found.slope), *slopes))),
        )
