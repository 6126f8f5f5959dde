"""How an open hole's lengths grow toward higher notes, inside the bore and outside.

| what | why it grows | form |
|---|---|---|
| `mouth_share` | the bore's wave is curved: over the hole it presses less than on the hole's axis | 1 - (k b)^2 / 6 |
| `inner_rise` | the bore's evanescent modes gain inertia | (k a)^2, fitted |
| `length_rise` | the body makes dipoles and more of the hole's sound; their near fields are inertia | (k R)^2, fitted |

Hole radius b, bore a, body R. Fitted to finite elements of single holes (`tests/reference/whole`), lengths in b:

| what | range | largest miss, rms |
|---|---|---|
| shunt length with `inner_rise` and `mouth_share` | b/a 0.1 to 0.9, k a to 0.2 | 0.002, 0.001 |
| | k a to 0.4 | 0.009, 0.002 |
| `length_rise` | b/R 0.1 to 0.7, k R to 0.5 | 0.0004, 0.0002 |

Inside, the hole with its load is shorter than 6 b and goes on straight; in a thin wall what goes on outside reaches in.

The share of the pressure is that of a standing wave cos(k x) weighted by the flow through a thin aperture, which goes
as 1/sqrt(1 - r^2/b^2) (Rayleigh, *The Theory of Sound* II, section 306; from memory) and has a mean x^2 of b^2/3.
"""

from acoustics.arrays import Array

INNER_RISE, INNER_RISE_FALL = 0.139, 0.098
OUTER_RISE, OUTER_RISE_FALL = 0.82, 1.11


def mouth_share(k: Array, hole_radius: Array) -> Array:
    """Pressure over the hole's mouth in the bore over that of the bore's wave on the hole's axis [1].

    Parameters
    ----------
    k : wavenumber [1/m]
    hole_radius : at the bore [m]; both of shapes that broadcast

    The same share of the flow through the hole acts on the bore: the hole's shunt impedance is that of its lengths over
    the share's square, flow out of its top per pressure in the bore times the share.
    """
    return 1.0 - (k * hole_radius) ** 2 / 6.0


def inner_rise(hole_radius: Array, delta: Array, ka: Array) -> Array:
    """What a hole's inner length gains on `toneholes.static_inner_length` [m], to be used with `mouth_share`.

    Parameters
    ----------
    hole_radius : at the bore [m]
    delta : hole radius over bore radius [1]
    ka : wavenumber times bore radius [1]; all of shapes that broadcast

    Range and error: as the module says.
    """
    return hole_radius * ka**2 * delta * (INNER_RISE - INNER_RISE_FALL * delta)


def length_rise(k: Array, hole_radius: Array, body_radius: Array) -> Array:
    """What a hole's outer length gains on that at rest [m].

    Parameters
    ----------
    k : wavenumber outside [1/m]
    hole_radius, body_radius : b of the hole's top and R [m]; all of shapes that broadcast

    Range and error: as the module says. For small holes it is that of a point source on an endless cylinder (Morse &
    Ingard 1968, section 7.3) within 0.001 b; a wide hole, round a good part of the body, has less of it.
    """
    b = hole_radius
    return 0.25 * (k * b) ** 2 * body_radius * (OUTER_RISE - OUTER_RISE_FALL * b / body_radius)
