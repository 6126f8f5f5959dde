"""Instruments drawn at random and corrected as at a bench: lists carried out with scatter, and measured anew."""

import numpy as np
from prototypes import drawn, heard

from optimizer.prototype.bench import Bench
from optimizer.prototype.calibration import calibrated
from optimizer.prototype.changes import KINDS, Change
from optimizer.prototype.correction import corrected
from optimizer.prototype.played_model import played

PASSES = 2


def carried_out(record, loaded, seed, seconds=2.0, lines=None):
    """RMS of the main notes [cents] as printed, and after two passes; not a number where no list was made.

    The instrument differs from its layout by what was drawn, whatever is changed; what is done differs from the list by
    the scatter of its kind: ream 0.05 mm, crook 0.2 mm.
    """
    model = played(record)
    instrument = drawn(model, seed)
    bench, dice = Bench(record, None), np.random.default_rng([17, seed])
    main, done, listing, now, earlier = model.layout.main, [], False, record, None
    truth = instrument.cents
    before = np.sqrt(np.mean(truth[main] ** 2))
    for number in range(PASSES):
        heard_now = instrument._replace(cents=truth)
        fit = calibrated(now, heard(now, heard_now, lines or range(len(now.notes)), [seed, number], model))
        earlier, now = corrected(now, fit, loaded, earlier, seconds=seconds)
        done += [_scattered(step, dice) for step in earlier.steps if step.now]
        listing = listing or bool(done)
        truth = instrument.cents + bench.moved(done)
    return before, np.sqrt(np.mean(truth[main] ** 2)) if listing else np.nan


def _scattered(step, dice):
    """A step as it comes out at the bench."""
    return Change(step.kind, step.place, step.now + KINDS[step.kind].sure * dice.standard_normal())
