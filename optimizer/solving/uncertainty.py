"""How sure each predicted note is: stated uncertainties of parameters and of the model, through the Jacobian.

Every contribution is one standard deviation. Independent numbers (`deviations`) add their squares; what goes wrong
together (the bore of one piece, the air's temperature) is one number. Model errors are written as errors of a length or
a share of an effect, by kind of element, from the comparison with finite elements and published tables. A formula of
openings, saddle or flat, bare or under a pad, errs for all openings of its kind alike: these add up in a note; the
others add their squares:

| element | what may be wrong | one standard deviation |
|---|---|---|
| bare opening of a kind | outer length | 0.003 of the radius at its top |
| opening under a pad, of a kind | the same with the pad | 0.006 of it; 0.010 where it opens less than 0.35 of it |
| closed hole | its volume, as a length | 0.01 of the hole radius |
| bell end | end correction | 0.01 of its radius |
| external interaction | its whole effect on the note | 20 % of it |
| wall losses | their shift, a printed wall being rough | 5 % of it |
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from acoustics.arrays import Floats
from acoustics.network import Duct
from acoustics.resonances import CENTS_PER_OCTAVE, NoteErrors, note_errors, qualities
from acoustics.toneholes import Holes
from optimizer.geometry.build import Build, parted
from optimizer.geometry.deviations import Deviations, by_deviation, deviations
from optimizer.project.learned import FORMULAS as SHARED
from optimizer.project.learned import Learned
from optimizer.project.uncertainty import Uncertainty
from optimizer.records.shares import Share

BARE, PADDED, LOW_PAD, LOW_GAP = 0.003, 0.006, 0.010, 0.35
CLOSED_HOLE, BELL_END = 0.01, 0.01
INTERACTION, LOSSES = 0.20, 0.05
FORMULAS = "formulas"
"""The source that the model's own errors are told under."""


class Spread(NamedTuple):
    """Standard deviations of each note [cents], by where they come from.

    Attributes
    ----------
    making, playing, model : (N,)
    sources : names (S,) of what the doubt is made of, the formulas last
    by_source : (N, S)
    known : (N,) how far off the formulas are known to be
    """

    making: Floats
    playing: Floats
    model: Floats
    sources: tuple[str, ...]
    by_source: Floats
    known: Floats

    @property
    def total(self) -> Floats:
        """All together (N,) [cents]."""
        return np.asarray(np.sqrt(self.making**2 + self.playing**2 + self.model**2))


def note_spread(
    duct: Duct,
    openness: Floats,
    frequency: Floats,
    quality: Floats,
    stated: Uncertainty,
    build: Build | None = None,
    learned: Learned | None = None,
) -> Spread:
    """Uncertainty of each note (N,) [cents].

    Parameters
    ----------
    duct : one (SI)
    openness : (N, H) 0 closed, 1 open, between: open share of the hole's area
    frequency : (N,) what each sounds [Hz]
    quality : (N,) of its resonance
    stated : one standard deviation of each kind
    build : how it is put together; default: printed in one
    learned : what is known better than stated
    """
    whole = duct if build is None else parted(duct, build)
    found = note_errors(whole, openness, frequency)
    return spread_of(found, whole, openness, quality, deviations(whole, stated, build, learned))


def spread_of(found: NoteErrors, duct: Duct, openness: Floats, quality: Floats, may: Deviations) -> Spread:
    """Uncertainty of each note (N,) [cents] from errors with slopes that are at hand.

    Parameters
    ----------
    found : errors and slopes of the notes (N,)
    duct : one (SI)
    openness : (N, H) 0 closed, 1 open, between: open share of the hole's area
    quality : (N,) of each note's resonance
    may : what may deviate (K,)
    """
    errors = model_errors(found, duct, openness, quality)
    by, left = brought(found, errors, may)
    variance, making = by**2, may.from_making
    model = np.sqrt(np.sum(left**2, axis=1))
    sources = tuple(dict.fromkeys(may.sources))
    belongs = np.array([[source == name for name in sources] for source in may.sources], float)
    return Spread(
        np.sqrt(np.sum(variance[:, making], axis=1)),
        np.sqrt(np.sum(variance[:, ~making], axis=1)),
        model,
        (*sources, FORMULAS),
        np.sqrt(np.column_stack([variance @ belongs, model**2])),
        errors[:, -len(SHARED) :] @ may.formulas.mean,
    )


def brought(found: NoteErrors, errors: Floats, may: Deviations) -> tuple[Floats, Floats]:
    """What one standard deviation of each deviation brings to each note (N, K) [cents], and what as many independent
    errors of formulas as there are bring besides (N, M) [cents].

    Parameters
    ----------
    found : errors and slopes of the notes (N,)
    errors : (N, M) `model_errors`
    may : what may deviate (K,), and which errors of formulas go along
    """
    alone, shared = np.split(errors, [errors.shape[1] - len(SHARED)], axis=1)
    by = by_deviation(found.slope, may) + shared @ may.formulas.along.T
    return by, np.column_stack([alone, shared @ may.formulas.left.T])


def known_cents(duct: Duct, openness: Floats, frequency: Floats, learned: Learned) -> Floats:
    """How far off the formulas are known to be at each note (N,) [cents].

    Parameters
    ----------
    duct : one (SI)
    openness : (N, H) 0 closed, 1 open, between: open share of the hole's area
    frequency : (N,) where it is looked [Hz], near each note's resonance
    learned : says so
    """
    found, quality = note_errors(duct, openness, frequency), qualities(duct, openness, frequency)
    errors = model_errors(found, duct, openness, quality)[:, -len(SHARED) :]
    return np.asarray(errors @ np.array([learned.mean(kind) for kind in SHARED]))


def variance_shares(by: Floats, names: Sequence[str]) -> list[Share]:
    """What each of several things contributes to the variances of notes summed, greatest first.

    Parameters
    ----------
    by : (N, K) what one standard deviation of each brings to each note [cents]
    names : (K,) of the things
    """
    each = np.sum(by**2, axis=0)
    whole = float(np.sum(each))
    if whole == 0.0:
        return []
    order = np.argsort(-each, kind="stable")
    return [Share(name=names[k], percent=float(100.0 * each[k] / whole)) for k in order if each[k] > 0.0]


def model_errors(found: NoteErrors, duct: Duct, openness: Floats, quality: Floats) -> Floats:
    """What each formula may bring to each note (N, M), one standard deviation [cents]: closed holes one by one, then
    those that hold for all elements of a kind (`learned.FORMULAS`): openings by kind, bell end, external interaction,
    walls, which flatten a resonance by about 1/(2 Q).

    Parameters
    ----------
    found : errors and slopes of the notes (N,)
    duct : one (SI)
    openness : (N, H) 0 closed, 1 open, between: open share of the hole's area
    quality : (N,) of each note's resonance
    """
    height = np.asarray(found.slope.holes.chimney_height)
    closed = np.where(openness > 0.0, 0.0, CLOSED_HOLE * np.asarray(duct.holes.radius)) * height
    opened = np.where(openness > 0.0, height, 0.0) @ opening_errors(duct.holes)
    bell = BELL_END * float(duct.bore.radius[-1]) * np.asarray(found.slope.end_position)
    outside = INTERACTION * np.asarray(found.interaction)
    walls = LOSSES * CENTS_PER_OCTAVE / np.log(2.0) / (2.0 * quality)
    return np.column_stack([closed, opened, bell, outside, walls])


def formula_names(holes: Sequence[str]) -> list[str]:
    """What the columns of `model_errors` are the errors of.

    Parameters
    ----------
    holes : ids (H,)
    """
    kinds = ("bare, saddle", "bare, flat", "under a pad, saddle", "under a pad, flat")
    openings = [f"formula of openings {kind}" for kind in kinds]
    closed = [f"formula of closed {hole}" for hole in holes]
    return [
        *closed,
        *openings,
        "formula of the bell's end",
        "formula of what holes do outside",
        "formula of wall losses",
    ]


def opening_errors(holes: Holes) -> Floats:
    """Error of each hole's outer length [m] when the formula of a kind is off by one standard deviation (H, 4).

    Parameters
    ----------
    holes : fields (H,); the kinds are saddle and flat, bare, then both under a pad
    """
    radius, gap = np.asarray(holes.top_radius), np.asarray(holes.pad_gap)
    padded = np.where(gap < LOW_GAP * radius, LOW_PAD, PADDED)
    kind = (np.asarray(holes.rim_width) > 0.0) + 2 * (gap > 0.0)
    return np.where(kind[:, None] == np.arange(4), (radius * np.where(gap > 0.0, padded, BARE))[:, None], 0.0)
