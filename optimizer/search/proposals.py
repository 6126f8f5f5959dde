"""What Optuna is asked for a trial, and the proposal that its answers make."""

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from optimizer.geometry.choices import Choices, open_covers, optional_notes
from optimizer.project.chart import ChartNote
from optimizer.project.model import Project
from optimizer.project.objectives import same_cents
from optimizer.solving.front_member import Member
from optimizer.solving.linearised import Emphasis

if TYPE_CHECKING:
    import optuna

SHARE_RANGE = (1e-4, 30.0)
SCATTER_MOST = 1.5
SAME_JOINT = 0.15
LEVERS = ("stretch", "unevenness")
"""Emphases that a search for robustness varies, sought or not: no residual of the inner solve follows it."""
START = "start"
STARTS = ("alike", "tapered", "screened", "neighbour")
"""Starting patterns: all holes at one share of their ranges; shares falling from the bell to the reed; the best in tune
of many shaken ones; a layout of the front, where there is one."""


class Proposal(NamedTuple):
    """The handful of numbers that a solve cannot choose for itself.

    Attributes
    ----------
    number : of the trial
    emphasis : how much each objective counts
    size : start with small (0) or large (1) holes
    scatter : how far the start is shaken, in units of `layout.STEP`
    seed : of that shaking
    pattern : one of `STARTS`
    choices : one way of choosing; None for the plain one
    parent : id of the neighbour that it starts from; empty for none
    numbers : those of that neighbour
    """

    number: int
    emphasis: Emphasis
    size: float
    scatter: float
    seed: int
    pattern: str = "alike"
    choices: Choices | None = None
    parent: str = ""
    numbers: Mapping[str, Any] | None = None


class Questions:
    """The parameters of a project's trials; tuning has a flat bottom only where something else decides in it, and that
    has some emphasis in every trial."""

    def __init__(self, project: Project, notes: Sequence[ChartNote], seed: int) -> None:
        self.project, self.seed = project, seed
        self.names = project.objective_names
        wanted = {*self.names, *(LEVERS if "robustness" in self.names else ())}
        self.shared = [name for name in Emphasis._fields if name in wanted and name != "tuning"]
        others = set(self.shared) - set(same_cents(1.0))
        self.same_cents = project.search.same_tuning_cents if others else 0.0
        self.covers = open_covers(project)
        self.options = optional_notes(notes)

    def asked(self, trial: "optuna.Trial", members: Sequence[Member]) -> Proposal:
        """Ask Optuna for every parameter; the neighbour of a `neighbour` start is the most alike of the members."""
        shares = {name: trial.suggest_float(f"{name}_share", *SHARE_RANGE, log=True) for name in self.shared}
        size, scatter = trial.suggest_float("size", 0.0, 1.0), trial.suggest_float("scatter", 0.0, SCATTER_MOST)
        pattern = trial.suggest_categorical(START, STARTS)
        choices = self._choices(trial)
        near = self._nearest(trial.params, members) if pattern == "neighbour" else None
        numbers = self._kept_numbers(trial.params, near) if near else None
        return Proposal(
            trial.number,
            Emphasis(
                tuning=1.0 if "tuning" in self.names else SHARE_RANGE[0],
                same_tuning_cents=self.same_cents,
                **shares,
            ),
            size,
            scatter,
            self.seed,
            pattern if near or pattern != "neighbour" else "alike",
            choices,
            near.id if near else "",
            numbers,
        )

    def _choices(self, trial: "optuna.Trial") -> Choices:
        plates = tuple(hole for hole in self.covers if trial.suggest_categorical(f"plate_{hole}", (True, False)))
        played = tuple(
            lines[trial.suggest_int(f"fingering_{note}", 0, len(lines) - 1)] for note, lines in self.options.items()
        )
        joints: tuple[float, ...] = ()
        if self.project.sections is not None:
            fewest, most = self.project.sections.joints
            count = trial.suggest_int("joints", fewest, most) if most > fewest else most
            joints = tuple(
                trial.suggest_float(f"joint_{number}_of_{count}", 0.0, 1.0) for number in range(1, count + 1)
            )
        low, high = self.project.bore.diameter_scale
        return Choices(plates, played, joints, trial.suggest_float("bore", 0.0, 1.0) if high > low else 0.5)

    def _kept_numbers(self, params: Mapping[str, Any], near: Member) -> Mapping[str, Any]:
        """A neighbour's numbers; its joints only where every one was asked for in nearly the same place."""
        asked = {name: value for name, value in params.items() if name.startswith("joint_")}
        same = all(abs(value - near.params.get(name, 2.0)) < SAME_JOINT for name, value in asked.items())
        return near.numbers if same else {name: near.numbers[name] for name in near.numbers if name != "joint_mm"}

    def _nearest(self, params: Mapping[str, Any], members: Sequence[Member]) -> Member | None:
        """The member whose emphasis and choices are most like those of a trial."""
        if not members:
            return None
        mine = self._described(params)
        return min(members, key=lambda member: float(np.sum((self._described(member.params) - mine) ** 2)))

    def _described(self, params: Mapping[str, Any]) -> np.ndarray:
        """Logarithms of the shares, then choices far enough apart to count more than any of them."""
        shares = [math.log(params.get(f"{name}_share", SHARE_RANGE[0])) for name in self.shared]
        chosen = [20.0 * params.get(f"plate_{hole}", True) for hole in self.covers]
        played = [20.0 * params.get(f"fingering_{note}", 0) for note in self.options]
        return np.array([*shares, *chosen, *played, 20.0 * params.get("joints", 0)])


OPENING = (1e-4, 0.03, 1.0)
"""Emphases tried first, before the sampler has anything to learn from."""


def opening(questions: Questions) -> list[dict[str, Any]]:
    """Parameters of the first trials: a few emphases from a plain start, with the plain choices."""
    plain: dict[str, Any] = {"size": 0.5, "scatter": 0.0, START: "alike"}
    plain |= {f"plate_{hole}": True for hole in questions.covers} | {
        f"fingering_{note}": 0 for note in questions.options
    }
    if questions.project.sections is not None:
        fewest, most = questions.project.sections.joints
        plain |= {"joints": fewest} if most > fewest else {}
        plain |= {f"joint_{number}_of_{fewest}": 0.5 for number in range(1, fewest + 1)}
    low, high = questions.project.bore.diameter_scale
    plain |= {"bore": 0.5} if high > low else {}
    shared = questions.shared
    first = [{f"{name}_share": share for name in shared} for share in OPENING]
    alone = [{f"{name}_share": 1.0 if name == wanted else OPENING[0] for name in shared} for wanted in shared]
    wanted_first = [shares | plain for shares in first + alone]
    return [params for number, params in enumerate(wanted_first) if params not in wanted_first[:number]]
