"""Where a solve starts: holes where the textbook puts them, then pushed to feasible places by the solver.

A note needs the bore to end, acoustically, at a certain place. That place comes from the bore itself, cut short and
ended openly; the hole that is the first open one for the note starts a little above it, since an open hole narrower
than the bore only counts as an end further down.
"""

from collections.abc import Mapping
from typing import Any

import numpy as np

from acoustics.arrays import map_arrays
from acoustics.resonances import lowest_hz
from acoustics.scan import cut_susceptances
from optimizer.geometry.layout import STEP, Layout, layout_bounds, numbers_of, with_numbers
from optimizer.geometry.measured_layout import measured
from optimizer.solving.problem import Problem

CUTS = 120
STEP_OCTAVES = 0.02
END_CORRECTION = 0.75  # of the diameter: inner and outer end of a hole, common practice, no source
ROW_SHARE = 0.5  # of a lone hole's shift: what is left of it when more holes stand open below
FARTHEST_MM = 60.0
SCREENED, LEAST_SCATTER = 64, 0.3


def middle_layout(bounds: tuple[Layout, Layout], size: np.ndarray | float = 0.5) -> Layout:
    """Every number in the middle of its range, but hole diameters.

    Parameters
    ----------
    bounds : lowest and highest layout
    size : share of the diameters' ranges, () or (H,)
    """
    lowest, highest = bounds
    low, high = numbers_of(lowest), numbers_of(highest)
    share: dict[str, Any] = dict.fromkeys(STEP, 0.5) | {"diameter_mm": size}
    return with_numbers(lowest, {name: low[name] + share[name] * (high[name] - low[name]) for name in STEP})


def open_end_positions(problem: Problem, f: np.ndarray, register: np.ndarray) -> np.ndarray:
    """Where to cut the plain bore so that its resonances lie at wanted frequencies (N,) [mm].

    Resonances of the cut bore fall as the cut moves away from the reed; they are tabulated over `CUTS` cuts and
    interpolated, clipped to the bore.

    Parameters
    ----------
    problem : whose bore it is
    f : (N,) wanted frequencies [Hz]
    register : (N,) number of the resonance that is to lie there, from 1
    """
    duct = problem.duct(middle_layout(layout_bounds(problem.project)))
    duct = duct._replace(holes=map_arrays(lambda row: row[:0], duct.holes))
    cuts = np.linspace(0.1, 1.0, CUTS) * float(duct.end_position)
    low, high = np.log2(lowest_hz(f, register)), np.log2(f.max()) + 0.3
    octaves = np.linspace(low, high, int(np.ceil((high - low) / STEP_OCTAVES)) + 1)
    values = cut_susceptances(duct, cuts, 2.0**octaves)
    rising = (values[:, :-1] < 0.0) & (values[:, 1:] >= 0.0)
    share = values[:, :-1] / np.where(rising, values[:, :-1] - values[:, 1:], 1.0)
    crossing = octaves[:-1] + share * np.diff(octaves)
    count = np.cumsum(rising, axis=1)
    places = np.full(f.size, 1e3 * cuts[-1])
    for mode in np.unique(register):
        reached = rising & (count == mode)
        has = reached.any(axis=1)
        if has.any():
            pitch = crossing[np.arange(CUTS), np.argmax(reached, axis=1)]
            mine = register == mode
            places[mine] = np.interp(-np.log2(f[mine]), -pitch[has], 1e3 * cuts[has])
    return places


def first_open_notes(problem: Problem) -> dict[int, int]:
    """For each tone hole that is the open hole nearest the reed in some note: the chart line to place it by.

    The lowest register counts first, and of its lines one without a fork, which sounds lower than its hole lies;
    alternates only where nothing else uses the hole.
    """
    tone = [i for i, hole in enumerate(problem.project.holes) if hole.role == "tone"]
    notes = problem.notes
    opened = [[hole for hole in tone if problem.openness[line, hole] > 0.9] for line in range(len(notes))]
    resting = [hole for hole in tone if problem.project.holes[hole].rest == "open"]

    def rank(line: int) -> tuple[bool, int, int, int]:
        forked = sum(hole < opened[line][-1] for hole in resting if hole not in opened[line]) if opened[line] else 0
        return notes[line].alternate, notes[line].register, forked, line

    found: dict[int, int] = {}
    for line in sorted(range(len(notes)), key=rank):
        if opened[line]:
            found.setdefault(opened[line][-1], line)
    return found


class Starts:
    """Starting layouts of a problem: `at(size, scatter, seed)` gives one. The bore is looked at once."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.bounds = layout_bounds(problem.project)
        plain = middle_layout(self.bounds)
        self.bore_mm = 2.0 * measured(plain, problem.project).bore_radius / plain.bore_scale
        lines = first_open_notes(problem)
        self.holes = np.array(list(lines), int)
        chosen = np.array(list(lines.values()), int)
        if chosen.size:
            register = np.array([problem.notes[line].register for line in chosen])
            self.places = open_end_positions(problem, problem.f_target[chosen], register)
        else:
            self.places = np.empty(0)

    def at(
        self,
        size: float = 0.5,
        scatter: float = 0.0,
        seed: int = 0,
        bore_scale: float = 0.5,
        tapered: bool = False,
    ) -> np.ndarray:
        """Start vector x (n,).

        Parameters
        ----------
        size : share of each diameter range, 0 small to 1 large
        scatter : how far, in units of `layout.STEP`, every free number is shaken
        seed : of that shaking
        bore_scale : share of the bore's range of scales
        tapered : whether the share of the diameters falls from `size` at the bell to 1 - size at the reed
        """
        problem = self.problem
        low, high = problem.project.bore.diameter_scale
        shares = np.linspace(size, 1.0 - size if tapered else size, len(problem.project.holes))
        scale = low + bore_scale * (high - low)
        layout = middle_layout(self.bounds, shares)._replace(bore_scale=scale)
        height = layout.chimney_mm + END_CORRECTION * layout.diameter_mm
        shift = np.minimum(ROW_SHARE * height * (scale * self.bore_mm / layout.diameter_mm) ** 2, FARTHEST_MM)
        position = np.array(layout.position_mm)
        if self.holes.size:
            position[self.holes] = self.places - shift[self.holes]
        return self._shaken(layout._replace(position_mm=position), scatter, seed)

    def screened(self, scatter: float, seed: int, bore_scale: float) -> np.ndarray:
        """Start vector x (n,): the one nearest in tune of `SCREENED` starts of all sizes, shaken at least a little.

        Parameters
        ----------
        scatter : how far, in units of `layout.STEP`, every free number is shaken beyond `LEAST_SCATTER`
        seed : of sizes and shaking
        bore_scale : share of the bore's range of scales
        """
        dice = np.random.default_rng(seed)
        points = [
            self.at(dice.uniform(), LEAST_SCATTER + scatter, int(dice.integers(2**32)), bore_scale, number % 2 == 1)
            for number in range(SCREENED)
        ]
        return np.asarray(points[int(np.argmin(self.problem.screen(np.stack(points))))])

    def beside(self, numbers: Mapping[str, Any], scatter: float, seed: int) -> np.ndarray:
        """Start vector x (n,) from another layout of the same project.

        Parameters
        ----------
        numbers : see `saved.saved_numbers`; joints come with the choices and are left out, and rows where that layout
            has other ones, or what shapes the bore where it says nothing: these start in the middle of their ranges
        scatter : how far, in units of `layout.STEP`, every free number is shaken
        seed : of that shaking
        """
        kept = {name: np.asarray(value) for name, value in numbers.items() if name != "joint_mm"}
        middle = middle_layout(self.bounds)
        if len(numbers.get("row_mm", ())) != len(middle.row_mm):
            kept["row_mm"] = middle.row_mm
        shaping = self.problem.project.bore.shaped_by
        kept |= {name: getattr(middle, name) for name in shaping if name not in kept}
        return self._shaken(with_numbers(self.problem.parametrisation.lowest, kept), scatter, seed)

    def _shaken(self, layout: Layout, scatter: float, seed: int) -> np.ndarray:
        coding = self.problem.parametrisation
        x = coding.encode(layout)
        x = x + scatter * np.random.default_rng(seed).standard_normal(x.size)
        return np.asarray(np.clip(x, coding.low, coding.high))
