"""A layout fitted to what was measured of the instrument built from it."""

from collections.abc import Sequence

import numpy as np

from acoustics.arrays import Floats
from acoustics.pitch import cents_between
from optimizer.project.faults import Fault
from optimizer.project.learned import SHARED, Learned, Shared
from optimizer.prototype.fairness import Judged, alone, before, tiers_until_fair
from optimizer.prototype.fit_words import cannot_say, outside, says
from optimizer.prototype.gauged_numbers import readings_of
from optimizer.prototype.map_fit import Observed, fitted
from optimizer.prototype.next_best import Candidate, best_next, candidates, doubt_of
from optimizer.prototype.played_model import TIERS, Played, played, stated_for, unit_in_words
from optimizer.prototype.suspects import suspicions
from optimizer.records.calibration import CalibrationRecord, FittedNote, Number, Tier
from optimizer.records.gauge import GaugedValue
from optimizer.records.layout import LayoutRecord
from optimizer.records.measurement import MeasurementRecord, layout_mark

LEAST_NOTES = 3
"""Fewer notes say nothing that a maker could use: common practice, no source."""

DIGITS = 6


class Fit:
    """A layout, what was measured of it, and the fit.

    Attributes
    ----------
    record, measured : what was fitted to what
    model, observed, found : see their modules
    judged : tier after tier; the last is what counts
    remarks : what of the measurement was left out
    """

    def __init__(self, record: LayoutRecord, measured: MeasurementRecord, gauged: Sequence[GaugedValue] = ()) -> None:
        self.record, self.measured = record, measured
        self.model = played(record, measured)
        self.remarks: list[str] = []
        self.observed = self._observed(gauged)
        self.found = fitted(self.model, self.observed)
        self.judged = tiers_until_fair(self.model, self.observed, self.found)

    @property
    def at(self) -> Judged:
        """The tier that the figures are of."""
        return self.judged[-1]

    def _observed(self, gauged: Sequence[GaugedValue]) -> Observed:
        """What was measured, by places among the model's notes; raises Fault for sizes of nothing there is."""
        higher = cents_between(self.measured.a4_hz, self.record.reference.a4_hz)
        usable = []
        for note in self.measured.notes:
            if note.line not in self.model.lines:
                self.remarks.append(f"{note.written} was measured, but the layout has no resonance there: left out")
            elif not note.fit:
                self.remarks.append(f"{note.written} is {' and '.join(note.flags)}: left out")
            else:
                usable.append(note)
        if len(usable) < LEAST_NOTES:
            raise Fault(f"a fit needs {LEAST_NOTES} measured notes at the least, but got {len(usable)}")
        places = {line: place for place, line in enumerate(self.model.lines)}
        readings, remarks = readings_of(self.record, self.model, gauged)
        self.remarks += remarks
        return Observed(
            np.array([places[note.line] for note in usable]),
            np.array([note.cents + higher for note in usable]),
            np.array([note.sd_cents for note in usable]),
            readings,
        )

    @property
    def of_instrument(self) -> tuple[Floats, Floats]:
        """Notes (N,) of the instrument with their deviations (N,) [cents], what the measurement has in common aside."""
        model, at = self.model, self.at
        lies = np.where(model.of_measurement, at.theta, 0.0)
        slopes = np.where(model.of_measurement, 0.0, self.found.slopes)
        cents = at.cents - np.column_stack([np.zeros_like(model.layout.by), model.fixed]) @ lies
        return cents, np.sqrt(np.einsum("np,pq,nq->n", slopes, at.covariance, slopes))


def calibrated(
    record: LayoutRecord,
    measured: MeasurementRecord,
    gauged: Sequence[GaugedValue] = (),
    next_steps: int = 0,
) -> CalibrationRecord:
    """Fit a layout to what was measured of the instrument built from it.

    Parameters
    ----------
    record : the layout
    measured : its notes
    gauged : sizes of the instrument
    next_steps : how many measurements to name that would say most now

    Raises
    ------
    Fault
        for too few notes, sizes of nothing there is, and a layout that cannot be fitted
    """
    try:
        fit = Fit(record, measured, gauged)
    except ValueError as error:
        raise Fault(f"the layout cannot be fitted: {error}") from None
    return calibration_of(fit, next_steps)


def calibration_of(fit: Fit, next_steps: int = 0) -> CalibrationRecord:
    """The record of a fit, with so many measurements that would say most now."""
    model, at, measured = fit.model, fit.at, fit.measured
    numbers = _numbers(model, at)
    square, chance = before(fit.found, fit.observed, model.layout.cents)
    remarks = [*measured.remarks, *fit.remarks]
    main = fit.found.slopes[model.layout.main] * ~model.of_measurement
    if measured.layout_mark != layout_mark(fit.record):
        remarks.append("what was measured names another layout, or another version of this one")
    count = [int(np.sum(model.tier <= tier + 1)) for tier in range(len(TIERS))]
    readings = [f"{each.name} {each.value:+.3g} +- {each.sd:.2g} mm" for each in fit.observed.readings]
    return CalibrationRecord(
        instrument=fit.record.instrument,
        layout=fit.record.id,
        layout_mark=layout_mark(fit.record),
        fitted_on=[measured.source, *readings],
        stated=stated_for(fit.record, measured),
        numbers=numbers,
        covariance=[[round(float(v), DIGITS) for v in row[: n + 1]] for n, row in enumerate(at.covariance)],
        notes=_notes(fit),
        tiers=[
            Tier(name=TIERS[n], numbers=count[n], chi_squared=each.chi_squared, expected=each.expected,
                 chance=each.chance, fair=each.fair)
            for n, each in enumerate(fit.judged)
        ],
        before_chi_squared=square,
        before_chance=chance,
        learned=learned_of(model, at, fit.record, measured.source),
        says=says(numbers),
        cannot_say=cannot_say(model, at),
        looks_like=suspicions(model, fit.observed, fit.found),
        outside=outside(numbers, chance, len(fit.observed.notes)),
        remarks=remarks,
        doubt_cents=doubt_of(main, at.covariance),
        next_best=best_next(model, fit.found.slopes, at.covariance, _offered(fit), next_steps),
    )  # fmt: skip


def _offered(fit: Fit) -> list[Candidate]:
    """What can still be measured: other notes as surely as those that were, numbers that no reading is of."""
    sd = float(np.median(fit.observed.sd))
    known = {reading.name for reading in fit.observed.readings}
    found = candidates(fit.record, fit.model, fit.found.slopes, sd, frozenset(fit.observed.notes.tolist()))
    return [each for each in found if each.name not in known]


def _numbers(model: Played, at: Judged) -> list[Number]:
    left = np.sqrt(np.diag(at.covariance))
    return [
        Number(
            name=name,
            kind=model.kinds[n],
            tier=int(model.tier[n]),
            unit=unit_in_words(model.kinds[n]),
            prior_sd=float(model.sd[n]),
            mean=float(at.theta[n] * model.sd[n]),
            sd=float(left[n] * model.sd[n]),
            left=float(left[n]),
        )
        for n, name in enumerate(model.names)
    ]


def _notes(fit: Fit) -> list[FittedNote]:
    cents, sd = fit.of_instrument
    off, apart = alone(fit.found, len(fit.observed.notes))
    row = {int(place): number for number, place in enumerate(fit.observed.notes)}
    designed = np.sqrt(np.sum(np.where(fit.model.of_measurement, 0.0, fit.found.slopes) ** 2, axis=1))
    found = []
    for place, note in enumerate(fit.model.layout.notes):
        seen = row.get(place)
        measured = {} if seen is None else {
            "measured_cents": float(fit.observed.cents[seen]),
            "measured_sd_cents": float(fit.observed.sd[seen]),
            "weight": float(fit.found.weight[seen]),
            "alone_cents": float(off[seen]),
            "alone_sd_cents": float(apart[seen]),
        }  # fmt: skip
        found.append(
            FittedNote(
                line=fit.model.lines[place],
                written=note.written,
                fingering=note.touches,
                register_number=note.register_number,
                alternate=note.alternate,
                designed_cents=float(fit.model.layout.cents[place]),
                designed_sd_cents=float(designed[place]),
                cents=float(cents[place]),
                sd_cents=float(sd[place]),
                **measured,
            )
        )
    return found


def learned_of(model: Played, at: Judged, record: LayoutRecord, source: str) -> Learned:
    """What instruments of the same reed, player and printer take from a fit; the single holes of a print are its own.

    Parameters
    ----------
    model : what may differ
    at : the tier that was fitted
    record : the layout; what it was designed by counts on
    source : what was measured
    """
    said = f"layout {record.id}, {source}"
    return shared_of(model.kinds, model.sd, at.theta, at.covariance, record, said)


def shared_of(
    kinds: Sequence[str], sd: Floats, theta: Floats, covariance: Floats, record: LayoutRecord, source: str
) -> Learned:
    """Of numbers (P,) those that any instrument of the same reed, player and printer shares, where something was said.

    Parameters
    ----------
    kinds, sd : (P,) of the numbers
    theta, covariance : (P,) and (P, P) as found, in these deviations
    record : the layout; what it was designed by counts on
    source : what was measured
    """
    known = record.reference.learned or Learned()
    said = np.any(covariance != np.eye(len(covariance)), axis=1) | (theta != 0.0)
    shared: dict[Shared, int] = {
        kind: n for kind in SHARED if kind in kinds and (said[n := kinds.index(kind)] or kind in known.numbers)
    }
    block = covariance[np.ix_(list(shared.values()), list(shared.values()))]
    left = np.sqrt(np.diag(block))
    related = block / np.outer(left, left)
    rounded = np.round(np.clip(related, -1.0, 1.0), DIGITS)
    return Learned(
        source=f"{record.instrument}, {source}",
        numbers={
            kind: (_digits(known.mean(kind) + theta[n] * sd[n]), _digits(left[k] * sd[n]))
            for k, (kind, n) in enumerate(shared.items())
        },
        correlation=[[float(value) for value in rounded[k, :k]] for k in range(1, len(shared))],
    )


def _digits(value: float) -> float:
    """A number to so many digits as a table needs."""
    return float(f"{value:.{DIGITS}g}")
