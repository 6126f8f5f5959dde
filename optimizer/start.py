"""Where a solve starts: holes where the textbook puts them, then pushed to feasible places by the solver.

A note needs the bore to end, acoustically, at a certain place. That place comes from the bore itself, cut short and
ended openly; the hole that is the first open one for the note starts a little above it, since an open hole narrower
than the bore only counts as an end further down.
"""

import jax
import jax.numpy as jnp
import numpy as np

from acoustics.arrays import Array
from acoustics.network import input_impedances, lip_admittance
from optimizer.layout import Layout, layout_bounds
from optimizer.problem import Problem

CUTS = 120
STEP_OCTAVES = 0.02


def middle_layout(problem: Problem, size: float = 0.5) -> Layout:
    """Every number in the middle of its range, but hole diameters at the share `size` of theirs."""
    lowest, highest = layout_bounds(problem.project)
    share = Layout(*(np.full(np.shape(low), 0.5) for low in lowest))._replace(
        diameter_mm=np.full(np.shape(lowest.diameter_mm), size)
    )
    return Layout(*(low + part * (high - low) for low, part, high in zip(lowest, share, highest, strict=True)))


def open_end_positions(problem: Problem, f: np.ndarray, register: np.ndarray) -> np.ndarray:
    """Where to cut the plain bore so that resonance `register` (N,) lies at f (N,) [Hz]: positions (N,) [mm].

    Resonances of the cut bore fall as the cut moves away from the reed; they are tabulated over `CUTS` cuts and
    interpolated, clipped to the bore.
    """
    duct = problem.duct(middle_layout(problem))
    longest = float(duct.end_position)
    cuts = np.linspace(0.1, 1.0, CUTS) * longest
    octaves = np.arange(np.log2(f.min()) - 1.6, np.log2(f.max()) + 0.3, STEP_OCTAVES)
    closed = jnp.zeros(len(problem.project.holes))

    def susceptance(cut: Array, frequency: Array) -> Array:
        moved = duct._replace(end_position=cut)
        chain, _ = input_impedances(moved, closed, frequency[None])
        return (1.0 / chain[0] + lip_admittance(moved, frequency)).imag

    table = jax.jit(jax.vmap(jax.vmap(susceptance, (None, 0)), (0, None)))
    values = np.asarray(table(jnp.asarray(cuts), jnp.asarray(2.0**octaves)))
    count = np.cumsum((values[:, :-1] < 0.0) & (values[:, 1:] >= 0.0), axis=1)
    places = np.empty(f.size)
    for mode in np.unique(register):
        reached = count >= mode
        has = reached.any(axis=1)
        pitch = octaves[np.argmax(reached, axis=1)]
        mine = register == mode
        places[mine] = np.interp(-np.log2(f[mine]), -pitch[has], 1e3 * cuts[has])
    return places


def first_open_notes(problem: Problem) -> dict[int, int]:
    """For each tone hole that is the open hole nearest the reed in some note: the chart line to place it by.

    The lowest register counts first; alternates only where nothing else uses the hole.
    """
    tone = [i for i, hole in enumerate(problem.project.holes) if hole.role == "tone"]
    notes = problem.loaded.notes
    found: dict[int, int] = {}
    ranking = sorted(range(len(notes)), key=lambda line: (notes[line].alternate, notes[line].register, line))
    for line in ranking:
        opened = [hole for hole in tone if problem.openness[line, hole] > 0.9]
        if opened:
            found.setdefault(opened[-1], line)
    return found


class Starts:
    """Starting layouts of a problem: `at(size, scatter, seed)` gives one. The bore's table is computed once."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        lines = first_open_notes(problem)
        self.holes = np.array(list(lines), int)
        chosen = np.array(list(lines.values()), int)
        if chosen.size:
            register = np.array([problem.loaded.notes[line].register for line in chosen])
            self.places = open_end_positions(problem, problem.f_target[chosen], register)
        else:
            self.places = np.empty(0)

    def at(self, size: float = 0.5, scatter: float = 0.0, seed: int = 0) -> np.ndarray:
        """Start vector x (n,).

        Parameters
        ----------
        size : share of each diameter range, 0 small to 1 large
        scatter : how far, in units of `layout.STEP`, positions and diameters are shaken
        seed : of that shaking
        """
        problem = self.problem
        layout = middle_layout(problem, size)
        bore = np.asarray(jnp.interp(layout.position_mm, *np.array(problem.project.bore.points_mm).T))
        height = layout.chimney_mm + 0.75 * layout.diameter_mm
        shift = np.minimum(0.5 * height * (bore / layout.diameter_mm) ** 2, 60.0)
        position = np.array(layout.position_mm)
        if self.holes.size:
            position[self.holes] = self.places - shift[self.holes]
        x = problem.parametrisation.encode(layout._replace(position_mm=position))
        x = x + scatter * np.random.default_rng(seed).standard_normal(x.size)
        return np.asarray(np.clip(x, problem.parametrisation.low, problem.parametrisation.high))
