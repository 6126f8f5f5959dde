"""Whether a project's limits leave any room at all: its constraints and ranges alone, without sound.

`Room.least` looks for the layout that breaks a set of limits least: steps in a trust region, each a quadratic programme
(PIQP) over the exact slopes. Limits come in two groups: soft ones, whose largest violation is to be small, and hard
ones, whose violation costs a thousand times as much. The limits are not convex, so that what is found is the least
near its start; a violation left over means that no way was found, not that there is none.

| quantity | shape | unit |
|---|---|---|
| x, low, high | (n,) | units of `layout.STEP` |
| limits g | (m + 2n,): constraints, then low ends of ranges, then high ends | mm |
"""

from typing import Any, NamedTuple

import numpy as np
import piqp

from acoustics.duals import slopes_of, value_of
from optimizer.geometry.choices import Choices, choice_arrays
from optimizer.geometry.layout import STEP, Choice, Layout, key_of, layout_bounds, numbers_of, parametrise, with_numbers
from optimizer.limits.catalogue import build_constraints
from optimizer.project.model import Project

KEPT_MM = 0.005
"""A limit broken by less than this counts as kept."""

HARD_COST = 1e3
NEARNESS = 1e-6
MOST_STEPS = 60
RADIUS_FIRST, RADIUS_LEAST = 4.0, 1e-5
WIDE = {
    "position_mm": 150.0,
    "touch_offset_mm": 150.0,
    "end_mm": 300.0,
    "joint_mm": 300.0,
    "row_mm": 300.0,
    "bore_scale": 1.0,
    "crook_half_angle_deg": 0.5,
    "cone_half_angle_deg": 0.5,
    "lower_cone_half_angle_deg": 0.5,
}
"""How far a range that counts for nothing is opened at both ends; others 15 of their unit."""

LEAST_SIZE_MM = 0.5
FLOORS = {"touch_offset_mm": -np.inf, "position_mm": 0.0, "joint_mm": 0.0, "row_mm": 0.0, "bell_flare_mm": 0.0}
"""How low numbers may be where their ranges count for nothing [mm]; sizes `LEAST_SIZE_MM`, angles 0."""


class Rest(NamedTuple):
    """Where a look came to rest: x (n,), limits g (m + 2n,) [mm], soft and hard violation [mm]."""

    x: np.ndarray
    limits: np.ndarray
    soft_mm: float
    hard_mm: float

    @property
    def kept(self) -> bool:
        """Whether all limits looked at are kept."""
        return max(self.soft_mm, self.hard_mm) <= KEPT_MM


class Room:
    """The limits of a project as one function of x.

    Attributes
    ----------
    names : (m + 2n,) of limits; the ends of a range share one, such as `range.position_mm.h07`
    sentences : (m + 2n,) what must hold
    low, high : (n,) the ranges, in units of `layout.STEP`
    step : (n,) these units
    """

    def __init__(self, project: Project) -> None:
        self.project = project
        self.coding = parametrise(project)
        self.constraints = build_constraints(project.model_copy(update={"stock": None}))  # pads that follow slopes
        self.low, self.high = self.coding.low, self.coding.high
        steps = [STEP[name.split(".")[0]] for name in self.coding.names]
        self.step = np.array(steps)
        items = self.constraints.items
        self.count = len(items)
        ranges = [f"range.{name}" for name in self.coding.names]
        self.names = [item.name for item in items] + ranges * 2
        self.sentences = [item.sentence for item in items] + [self._range_sentence(i) for i in range(len(steps))] * 2

    def _range_sentence(self, number: int) -> str:
        name, low, high = self.coding.names[number], self.low[number], self.high[number]
        return f"{key_of(name)} lies between {low * self.step[number]:g} and {high * self.step[number]:g}"

    def limits(self, x: np.ndarray, choice: Choice) -> tuple[np.ndarray, np.ndarray]:
        """All limits at one x.

        Parameters
        ----------
        x : (n,) in units of `layout.STEP`
        choice : the discrete choices as arrays

        Returns
        -------
        values (m + 2n,) [mm] and slopes by x (m + 2n, n)
        """
        found = self.constraints.values(self.coding.moving(x, choice))
        values, slopes = value_of(found), slopes_of(found, x.size).T
        ends = np.concatenate([(self.low - x) * self.step, (x - self.high) * self.step])
        return np.concatenate([values, ends]), np.vstack([slopes, -np.diag(self.step), np.diag(self.step)])

    def begin(self, choices: Choices, seed: int) -> tuple[np.ndarray, Choice]:
        """A start x (n,) and the choice as arrays.

        Parameters
        ----------
        choices : one way of choosing
        seed : 0 for the middle of every range, else anywhere
        """
        lowest, highest = layout_bounds(self.project)
        low, high, dice = numbers_of(lowest), numbers_of(highest), np.random.default_rng(seed)
        share: dict[str, Any] = {name: 0.5 if seed == 0 else dice.uniform(size=np.shape(low[name])) for name in STEP}
        share["touch_offset_mm"] = 0.5
        layout = with_numbers(lowest, {name: low[name] + share[name] * (high[name] - low[name]) for name in STEP})
        layout = layout._replace(position_mm=self._in_order(layout, lowest, highest))
        choice, joints = choice_arrays(self.project, choices, np.asarray(layout.position_mm))
        return self.coding.encode(layout._replace(joint_mm=joints)), choice

    def _in_order(self, layout: Layout, lowest: Layout, highest: Layout) -> np.ndarray:
        """Positions (H,) [mm] with the tone holes from the bell toward the reed, where their ranges let them."""
        place = np.array(layout.position_mm)
        tone = [number for number, hole in enumerate(self.project.holes) if hole.role == "tone"]
        place[tone] = np.sort(place[tone])[::-1]
        return np.asarray(np.clip(place, lowest.position_mm, highest.position_mm))

    def opened(self, ranges: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Bounds (n,), (n,) with some ranges (n,) True opened so far that they count for nothing."""
        low, high = self.low.copy(), self.high.copy()
        for number in np.flatnonzero(ranges):
            kind = self.coding.names[number].split(".")[0]
            wide = WIDE.get(kind, 15.0) / self.step[number]
            floor = FLOORS.get(kind, LEAST_SIZE_MM)
            low[number] = max(low[number] - wide, min(floor / self.step[number], low[number]))
            high[number] += wide
        return low, high

    def least(
        self,
        start: np.ndarray,
        choice: Choice,
        soft: np.ndarray,
        hard: np.ndarray | None = None,
        opened: np.ndarray | None = None,
    ) -> Rest:
        """Where the limits looked at are broken least.

        Parameters
        ----------
        start : (n,) x to begin at
        choice : the discrete choices as arrays
        soft : numbers (k,) of the limits whose largest violation is to be small
        hard : numbers (l,) of those whose violation costs `HARD_COST` times as much; None for none
        opened : (n,) True for ranges that count for nothing; all others hold exactly; None for none
        """
        group = [soft, np.empty(0, int) if hard is None else hard]
        low, high = (self.low, self.high) if opened is None else self.opened(opened)
        x = np.clip(start, low, high)
        values, slopes = self.limits(x, choice)
        radius = RADIUS_FIRST
        for _ in range(MOST_STEPS):
            if radius < RADIUS_LEAST or _cost(values, group) <= 0.2 * KEPT_MM:
                break
            step = _step(values, slopes, group, np.maximum(low - x, -radius), np.minimum(high - x, radius))
            if step is None:
                radius *= 0.3
                continue
            promised = _cost(values, group) - _cost(values + slopes @ step, group)
            if promised <= 1e-7:
                break
            there, there_slopes = self.limits(x + step, choice)
            share = (_cost(values, group) - _cost(there, group)) / promised
            if share > 0.02:
                x, values, slopes = x + step, there, there_slopes
            radius = radius * 2.0 if share > 0.7 else radius * 0.3 if share < 0.2 else radius
        return Rest(x, values, _worst(values[group[0]]), _worst(values[group[1]]))


def _worst(values: np.ndarray) -> float:
    return float(np.max(values, initial=0.0))


def _cost(values: np.ndarray, group: list[np.ndarray]) -> float:
    return _worst(values[group[0]]) + HARD_COST * _worst(values[group[1]])


def _step(
    values: np.ndarray, slopes: np.ndarray, group: list[np.ndarray], floor: np.ndarray, ceiling: np.ndarray
) -> np.ndarray | None:
    """Best step (n,) of the linearised limits in a box: unknowns are the step and both groups' violations."""
    n, chosen = floor.size, np.concatenate(group)
    near = values[chosen] > -200.0  # limits out of force or far off bind no step
    chosen, which = chosen[near], np.repeat([0, 1], [group[0].size, group[1].size])[near]
    rows = np.zeros((chosen.size, n + 2), order="F")
    rows[:, :n] = slopes[chosen]
    rows[np.arange(chosen.size), n + which] = -1.0
    solver = piqp.DenseSolver()
    solver.settings.eps_abs = solver.settings.eps_rel = 1e-9
    solver.setup(
        np.asfortranarray(NEARNESS * np.eye(n + 2)),
        np.append(np.zeros(n), [1.0, HARD_COST]),
        G=rows,
        h_u=-values[chosen],
        x_l=np.append(floor, [0.0, 0.0]),
        x_u=np.append(ceiling, [1e5, 1e5]),
    )
    if solver.solve() != piqp.PIQP_SOLVED:
        return None
    return np.asarray(np.clip(np.array(solver.result.x)[:n], floor, ceiling))
