"""On which side of its pad each axle runs, how much further round the body, and how high: settled once for a project.

Axles are looked at one after the other, the longest first, against all others as they are by then, on the layout in the
middle of all ranges and some shaken ones; each takes the way that leaves the least lacking of what posts, axles and
their lost motion need, the plainest of equals. Two rounds; a key's `axle_deg` and `axle_height_mm` are kept.
"""

import itertools

import jax
import jax.numpy as jnp
import numpy as np

from acoustics.arrays import Array
from optimizer.axles import AxlePlan, levers, with_posts
from optimizer.kept import once
from optimizer.key_places import key_plans, touches
from optimizer.layout import STEP, Layout, layout_bounds, numbers_of, with_numbers
from optimizer.posts import Slot, rooms, scene, slots
from optimizer.project import Project

FURTHER_DEG = (0.0, 15.0, 30.0, 50.0, 75.0, 105.0)
SHAKEN, SHAKE = 3, 0.12
ROUNDS = 2
PLAIN_MM = 0.02
"""What a way further from plain must save [mm]."""


@once
def axle_plans(project: Project) -> list[AxlePlan]:
    """Axle of every key whose finger has a place."""
    plans = _plain_plans(project)
    pressed = with_posts(plans)
    if not pressed:
        return plans
    settled = {axle.plan.key.id: axle for axle in _settled(project, pressed)}
    return [settled.get(axle.plan.key.id, axle) for axle in plans]


def _plain_plans(project: Project) -> list[AxlePlan]:
    plans, ids = key_plans(project), [hole.id for hole in project.holes]
    if not plans:
        return []
    middle = _sample(project, 0.0, 0)
    starts, where = np.asarray(touches(middle, project, plans).position), np.asarray(middle.position_mm)
    found = []
    for plan, start in zip(plans, starts, strict=True):
        holes = [ids.index(name) for name in (*plan.key.opens, *plan.key.closes)]
        farthest = tuple(sorted(holes, key=lambda hole: -abs(where[hole] - start)))
        given = None if plan.key.axle_deg is None else float(np.radians(plan.key.axle_deg))
        height = plan.key.axle_height_mm or project.keywork.axle_height_mm
        found.append(AxlePlan(plan, farthest, 1.0, 0.0, height, given))
    return found


def _sample(project: Project, shake: float, seed: int) -> Layout:
    """The middle of every range, shaken by a share of it."""
    lowest, highest = layout_bounds(project)
    low, high, dice = numbers_of(lowest), numbers_of(highest), np.random.default_rng(seed)
    share = {name: 0.5 + shake * dice.uniform(-1.0, 1.0, np.shape(low[name])) for name in STEP}
    return with_numbers(lowest, {name: low[name] + share[name] * (high[name] - low[name]) for name in STEP})


def _ways(project: Project, axle: AxlePlan) -> np.ndarray:
    """Ways of an axle (C, 3), plain ones first: side, further [rad], height [mm]."""
    raises = (0.0, project.keywork.axle_raise_mm) if project.keywork.axle_raise_mm else (0.0,)
    heights = [axle.height_mm] if axle.plan.key.axle_height_mm else [axle.height_mm + more for more in raises]
    sides, further = ((1.0,), (0.0,)) if axle.azimuth is not None else ((1.0, -1.0), FURTHER_DEG)
    return np.array(
        [(side, np.radians(turn), height) for height, turn, side in itertools.product(heights, further, sides)]
    )


def _settled(project: Project, plans: list[AxlePlan]) -> list[AxlePlan]:
    row, samples = slots(project, plans), [_sample(project, SHAKE * (n > 0), n) for n in range(1 + SHAKEN)]
    layouts = jax.tree.map(lambda *values: jnp.stack([jnp.asarray(value, float) for value in values]), *samples)
    ways = [_ways(project, axle) for axle in plans]
    most = max(len(choices) for choices in ways)
    lacking = jax.jit(
        jax.vmap(lambda taken: jnp.sum(jax.vmap(lambda layout: _lacks(layout, project, plans, row, taken))(layouts)))
    )
    taken = np.stack([choices[0] for choices in ways])
    for _, number in itertools.product(range(ROUNDS), range(len(plans))):
        tried = np.tile(taken, (most, 1, 1))
        choices = ways[number][np.minimum(np.arange(most), len(ways[number]) - 1)]
        tried[:, number] = choices
        cost = np.asarray(lacking(tried)) / (1 + SHAKEN) + PLAIN_MM * np.arange(most)
        taken[number] = choices[int(np.argmin(np.round(cost, 4)))]
    return _with(plans, taken.tolist())


def _with(plans: list[AxlePlan], taken: list[list[float]]) -> list[AxlePlan]:
    return [
        axle._replace(side=way[0], further=way[1], height_mm=way[2]) for axle, way in zip(plans, taken, strict=True)
    ]


def _lacks(layout: Layout, project: Project, plans: list[AxlePlan], row: list[Slot], taken: Array) -> Array:
    """What posts, axles and levers lack together [mm] when axles go these ways (K, 3)."""
    there = _with(plans, list(taken))
    keywork, found = project.keywork, scene(layout, project, there, row)
    spans, room = levers(layout, project, there, found.spans, found.cut), rooms(found, project, there, row)
    posts = jnp.min(jnp.concatenate(room[:3], axis=1), axis=1)
    lacks = [
        jnp.where(found.used, keywork.post_clearance_mm - posts, 0.0),
        keywork.axle_clearance_mm - jnp.min(jnp.concatenate(room[3:], axis=1), axis=1),
        spans.lost - keywork.lost_motion_max_share * spans.opening,
    ]
    return sum((jnp.sum(jnp.maximum(lack, 0.0)) for lack in lacks), jnp.zeros(()))
