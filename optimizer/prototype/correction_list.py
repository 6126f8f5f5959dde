"""Which few changes bring all notes within a tolerance: a mixed-integer programme over what each change does.

min  cost . y + DEAR s + EACH sum u     least y <= x <= most y,  y 0 or 1
     |e + J x| <= allowed + u,  0 <= u <= s,   A x <= b,   at most one y of each group

What no list mends of one note (u) lets no other note go. Amounts x are at least 0: a change that goes both ways is two
of them, in one group. What is chosen is then moved to where the mean error is least, with all the rest holding. Solved
by HiGHS (Huangfu & Hall, Math. Prog. Comp. 10 (2018) 119) through SciPy.
"""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import NamedTuple

import numpy as np
import scipy

from acoustics.arrays import Floats

DEAR = 5.0
"""What a cent by which the worst note stays out costs, in changes."""

EACH = 0.25
"""What a cent by which any note stays out costs besides, in changes."""

LITTLE = 1e-3
"""What a cent of the mean error costs where amounts are settled."""

GAP = 0.01
"""A list may be dearer than the cheapest by this share."""


class Columns(NamedTuple):
    """What may be changed.

    Attributes
    ----------
    slopes : (N, C) [cents for one unit of the change]
    least, most : (C,) amounts when changed at all
    cost : (C,)
    group : (C,) at most one of each is changed
    rows, room : limits, (m, C) and (m,): rows @ x <= room [mm]
    """

    slopes: Floats
    least: Floats
    most: Floats
    cost: Floats
    group: np.ndarray
    rows: Floats
    room: Floats


class Chosen(NamedTuple):
    """Amounts (C,), 0 where nothing is changed; by how much the worst note stays out of what is allowed [cents];
    whether no cheaper list can be had, within `GAP`."""

    amounts: Floats
    out: float
    proved: bool


def chosen(errors: Floats, allowed: Floats, columns: Columns, seconds: float) -> Chosen:
    """The cheapest changes.

    Parameters
    ----------
    errors : (N,) of the notes as they are [cents]
    allowed : (N,) either way [cents]
    columns : what may be changed
    seconds : how long it may take [s]
    """
    if np.all(np.abs(errors) <= allowed):
        return Chosen(np.zeros(columns.cost.size), 0.0, True)
    every = np.ones(columns.cost.size, bool)
    found = _solved(errors, allowed, columns, every, columns.cost, seconds, little=0.0)
    if found is None:
        return Chosen(np.zeros(columns.cost.size), float(np.max(np.abs(errors) - allowed)), False)
    x, out, proved = found
    return (
        settled(errors, allowed, columns, x > 0.0)._replace(proved=proved)
        if np.any(x > 0.0)
        else Chosen(x, out, proved)
    )


def settled(errors: Floats, allowed: Floats, columns: Columns, wanted: np.ndarray) -> Chosen:
    """The amounts of given changes (C,) that leave the least mean error, each at least its least; see `chosen`."""
    found = _solved(errors, allowed, columns, wanted, np.where(wanted, -1e3, 0.0), 5.0)
    if found is None:
        return Chosen(np.zeros(columns.cost.size), float(np.max(np.abs(errors) - allowed)), False)
    return Chosen(*found)


def _solved(
    errors: Floats,
    allowed: Floats,
    columns: Columns,
    may: np.ndarray,
    cost: Floats,
    seconds: float,
    little: float = LITTLE,
) -> tuple[Floats, float, bool] | None:
    """Amounts, the largest slack, and whether it is proved; None without any solution. Unknowns: x, y, s, each note's
    slack, each note's error."""
    notes, count = columns.slopes.shape
    ends = np.cumsum([count, count, 1, notes])
    x, y, s, u, t = np.split(np.eye(int(ends[-1]) + notes), ends)
    slopes = columns.slopes @ x
    groups = (columns.group == np.unique(columns.group)[:, None]).astype(float)
    rules = [
        scipy.optimize.LinearConstraint(slopes - u, -np.inf, allowed - errors),
        scipy.optimize.LinearConstraint(slopes + u, -allowed - errors, np.inf),
        scipy.optimize.LinearConstraint(u - s, -np.inf, 0.0),
        scipy.optimize.LinearConstraint(x - columns.most[:, None] * y, -np.inf, 0.0),
        scipy.optimize.LinearConstraint(x - columns.least[:, None] * y, 0.0, np.inf),
        scipy.optimize.LinearConstraint(groups @ y, -np.inf, 1.0),
    ]
    if little:
        rules += [
            scipy.optimize.LinearConstraint(t - slopes, errors, np.inf),
            scipy.optimize.LinearConstraint(t + slopes, -errors, np.inf),
        ]
    if len(columns.room):
        rules.append(scipy.optimize.LinearConstraint(columns.rows @ x, -np.inf, columns.room))
    weight = np.concatenate([np.zeros(count), cost, [DEAR], np.full(notes, EACH), np.full(notes, little / notes)])
    most = np.concatenate([columns.most * may, may.astype(float), np.full(1 + 2 * notes, np.inf)])
    whole = np.concatenate([np.zeros(count), np.ones(count), np.zeros(1 + 2 * notes)])
    with _quiet():
        found = scipy.optimize.milp(
            weight,
            integrality=whole,
            bounds=scipy.optimize.Bounds(0.0, most),
            constraints=rules,
            options={"time_limit": seconds, "mip_rel_gap": GAP},
        )
    if found.x is None:
        return None
    on = found.x[count : 2 * count] > 0.5
    return (
        np.where(on, np.clip(found.x[:count], columns.least, columns.most), 0.0),
        float(found.x[2 * count]),
        found.success,
    )


@contextmanager
def _quiet() -> Iterator[None]:
    """HiGHS prints a line of its own now and then, whatever it is told: it goes nowhere."""
    sys.stdout.flush()
    kept, nowhere = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)
