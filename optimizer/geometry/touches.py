"""Where the touches of keys lie on the body of a layout, by what the project plans of them."""

from collections.abc import Callable, Sequence

import numpy as np

from acoustics.arrays import Array
from optimizer.geometry.fold import Fold
from optimizer.geometry.per_project import once
from optimizer.geometry.space import Places, picked
from optimizer.project.touches import KeyPlan, touch_plans

key_plans = once(touch_plans)


class KeyTable:
    """Plans of keys as arrays (K,): what no layout changes of where their touches lie."""

    def __init__(self, plans: Sequence[KeyPlan]) -> None:
        rests = [plan.rest for plan in plans]
        self.count = len(plans)
        self._anchor = np.tile(np.array([rest.anchor for rest in rests], int), 2)
        self._turn = np.radians([rest.turn_deg for rest in rests] * 2)
        self._along = np.array([*(p.rest.along_mm + p.along_mm for p in plans), *(rest.along_mm for rest in rests)])
        self._across = np.array([*(p.rest.across_mm + p.across_mm for p in plans), *(rest.across_mm for rest in rests)])

    def places(self, fingers: Places, body_radius_at: Callable[[Array], Array], fold: Fold) -> tuple[Places, Places]:
        """Where the touch of each plan lies (K,), and where its finger rests (K,).

        Parameters
        ----------
        fingers : places (T,) where fingers lie, as `project.fingers` numbers them
        body_radius_at : the body's outer radius [mm] at places of any shape [mm]
        fold : how the body runs
        """
        beside = fingers.position[self._anchor]
        position = beside + (self._along if fold.straight else fold.down(beside) * self._along)
        radius = body_radius_at(position)
        turn = fingers.azimuth[self._anchor] + self._turn
        both = Places(position, self._across / radius + turn, radius)
        return picked(both, slice(None, self.count)), picked(both, slice(self.count, None))
