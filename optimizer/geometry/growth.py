"""How a duct grows with what is printed of it: lengths, diameters and walls by one factor, bends of a folded body, too.
Staple, crook, linings and pads stay."""

from collections.abc import Callable

import numpy as np

from acoustics.arrays import Array
from acoustics.bends import Bends, Tubes
from acoustics.duals import value_of
from acoustics.network import Duct
from optimizer.geometry.build import Build


def grown(still: Duct, duct: Duct, share: float, build: Build) -> Duct:
    """What print larger by a share adds to a duct; what is not printed lies toward the reed, and stays.

    Parameters
    ----------
    still : a duct of zeros of the same shapes
    duct : one (SI), parted as its build asks
    share : by which print is larger [1]
    build : how it is put together
    """
    fixed = ~build.printed
    begin = float(np.max(build.ends, initial=0.0, where=fixed[:-1]))

    def along(places: Array) -> Array:
        return share * np.maximum(places - begin, 0.0)

    on_body = share * build.printed[build.of_places(value_of(duct.holes.position))]
    unlined = on_body * ~np.array(build.lined, bool)
    whole, drilled = ("chimney_height", "body_radius", "rim_width"), ("radius", "top_radius")
    sized = dict.fromkeys(whole, on_body) | dict.fromkeys(drilled, unlined)
    return still._replace(
        bore=still.bore._replace(
            position=along(duct.bore.position),
            radius=share * build.printed[build.of_points(duct)] * duct.bore.radius,
        ),
        slices=along(duct.slices),
        end_position=along(duct.end_position),
        end_wall=share * duct.end_wall,
        holes=still.holes._replace(
            position=along(duct.holes.position),
            **{name: by * getattr(duct.holes, name) for name, by in sized.items()},
        ),
        bends=Bends(along(duct.bends.begin), along(duct.bends.end), share * duct.bends.radius),
        tubes=_tubes_grown(duct, share, along),
    )


def _tubes_grown(duct: Duct, share: float, along: Callable[[Array], Array]) -> Tubes:
    """What print larger by a share adds to the tubes of a folded body, whose bends are printed."""
    tubes, begin, bent = duct.tubes, along(duct.tubes.begin), along(duct.bends.begin)
    deeper = np.cumsum(np.append(np.zeros(1), tubes.down[:-1] * (bent - begin[:-1])))[: tubes.begin.size]
    return Tubes(begin, deeper, np.zeros(np.shape(tubes.down)), share * tubes.front, share * tubes.right)
