"""Practice pipes in pieces: their texts, layouts of them with given joints, and records to print from."""

from functools import cache

import numpy as np
from shelf import changed, pipe

from optimizer.geometry.choices import Choices, choice_arrays
from optimizer.geometry.layout import layout_bounds, with_numbers
from optimizer.limits.catalogue import build_constraints
from optimizer.records.layout import LayoutRecord
from optimizer.search.proposals import Proposal
from optimizer.search.trial import Solver
from optimizer.solving.assemble import assemble
from optimizer.solving.linearised import Emphasis
from optimizer.solving.problem import Problem

TABLE = "[sections]\njoints = 1\njoint_mm = 16\n\n[printer]\nbed_mm = [200, 180, 300]\nmargin_mm = [10, 8, 6]\n[holes]"
PIECES = changed("[holes]", TABLE)

SHRUNK = changed("[holes]", "shrinkage_percent = [1, 1, 2]\n[holes]", PIECES)

LONG = changed("[holes]", "[sections]\njoints = [1, 2]\npiece_max_mm = 280\njoint_mm = 16\n[holes]")
"""Pieces long enough for a joint between the hands: three holes on the first piece, one on the second."""


def placed(text, joint, end=320.0):
    """A layout of the pipe with one joint in it, and its project."""
    project = pipe(text).project
    low, _ = layout_bounds(project)
    position = np.array([260.0, 210.0, 185.0, 120.0])
    choice, _ = choice_arrays(project, Choices(joints=(0.5,)), position, [joint])
    joints = np.full(choice.joint_used.size, joint)
    layout = with_numbers(low, {"position_mm": position, "joint_mm": joints, "end_mm": np.array(end)})
    return project, layout._replace(choice=choice)


def limit_values(project, layout):
    """What each limit says of a layout [mm], by its name."""
    limits = build_constraints(project)
    return {item.name: float(g) for item, g in zip(limits.items, limits.values(layout), strict=True)}


@cache
def jointed(text):
    """The record of one geometry with a joint at 225 mm, rounded and judged."""
    whole, layout = Problem(pipe(text)), placed(text, 225.0)[1]
    problem, x = whole.chosen(Choices(joints=(0.5,)), whole.parametrisation.encode(layout), [225.0])
    return assemble(problem, x, "t00000", {})


def trial(loaded, number, joints, size, scatter, seed=1):
    """The record of one trial: solved for tuning with a little stretch and unevenness."""
    proposal = Proposal(
        number, Emphasis(1.0, stretch=0.03, unevenness=0.03), size, scatter, seed, choices=Choices(joints=joints)
    )
    return LayoutRecord.model_validate_json(Solver(loaded.text, loaded.source).solve(proposal).record_json)
