"""A correction of a measured instrument: the curve of changes against the worst note, the list, and its order.

What can be taken back is done first and in full. What cannot stops short in the first pass by as much as the notes
leave open, with 95 % certainty; later passes do half of what remains at the least (common practice, no source).
"""

from collections.abc import Sequence

import numpy as np

from acoustics.arrays import Floats
from optimizer import cautions
from optimizer.analysis.sensitivity import Z_HIGH
from optimizer.project.faults import Fault
from optimizer.project.loading import LoadedProject
from optimizer.prototype.bench import Bench, listed
from optimizer.prototype.changes import KINDS, Change, Kind, as_corrected
from optimizer.prototype.correction_list import settled
from optimizer.prototype.kept_limits import KeptLimits
from optimizer.prototype.reprint import best_reprint
from optimizer.records.calibration import CalibrationRecord
from optimizer.records.correction import CorrectedNote, CorrectionRecord, CorrectionStep, CurvePoint, Stage
from optimizer.records.layout import LayoutRecord
from optimizer.records.measurement import layout_mark

TOLERANCES = (24.0, 16.0, 10.0, 8.0, 6.0, 5.0, 4.0)
"""Those of the curve, widest first [cents]."""

SURE = 1.0
"""So many deviations of a note are added to what it may be off, so that no doubtful note commands a change."""

WORTH_SURE, WORTH_SQUARES = 0.5, 4.0
"""A further change is no noise where the worst note gains so much of what a note is sure to, or the squares of all
notes, in what each is sure to, so much: as two deviations of one note; either if these squares fall at all, with what
scatters as it is done. Common practice, no source."""

WITHIN = 0.1
"""A note that stays out of a tolerance by less is within it, as amounts are met in steps [cents]."""

ORDER = tuple(KINDS)


class Correction:
    """A layout, what its instrument was found to be, and what to change.

    Attributes
    ----------
    bench, columns : what may be changed
    main : (N,) True for no alternate
    errors, sd : (N,) of the notes as measured and fitted, with their deviations [cents]
    """

    def __init__(self, record: LayoutRecord, fit: CalibrationRecord, loaded: LoadedProject | None) -> None:
        if fit.layout_mark != layout_mark(record):
            raise Fault("the fit is of another layout, or of another version of this one")
        self.bench = Bench(record, KeptLimits(loaded, record) if loaded else None)
        found = {note.line: note for note in fit.notes}
        self.fitted = [found[line] for line in self.bench.lines]
        self.columns = self.bench.columns()
        self.main = np.array([not note.alternate for note in self.fitted])
        self.errors = np.array([note.cents for note in self.fitted])
        self.sd = np.array([note.sd_cents for note in self.fitted])

    def allowed(self, tolerance: float) -> Floats:
        """How far each note (N,) may be off [cents]; alternates, and notes that no list mends, need not get better."""
        return np.where(self.main, tolerance, np.maximum(tolerance, np.abs(self.errors))) + SURE * self.sd

    def best(self, tolerance: float, seconds: float) -> tuple[list[Change], bool]:
        """The cheapest list for a tolerance [cents], and whether it is proved to be; see `bench.listed`."""
        return listed(self.bench, self.columns, self.errors, self.allowed(tolerance), seconds)

    def after(self, changes: Sequence[Change]) -> Floats:
        """The notes (N,) [cents] once changes are made."""
        return self.errors + self.bench.moved(changes)

    def worst(self, cents: Floats) -> float:
        """How far the worst main note of all (N,) is off [cents]."""
        return float(np.max(np.abs(cents[self.main])))

    def rms(self, cents: Floats) -> float:
        """Root mean square of the main notes of all (N,) [cents]."""
        return float(np.sqrt(np.mean(cents[self.main] ** 2)))

    def squares(self, changes: Sequence[Change]) -> float:
        """Squares of the main notes once changes are made, summed, with what is to be expected of how surely each is
        met [cents2]."""
        met = sum(np.sum((self._slope(each) * KINDS[each.kind].sure)[self.main] ** 2) for each in changes)
        return float(np.sum(self.after(changes)[self.main] ** 2) + met)

    def _slope(self, change: Change) -> Floats:
        """What one unit of a change moves each note (N,) [cents]."""
        return self.columns.slopes @ (self.bench.amounts([change]) > 0.0)

    def gains(self, before: Sequence[Change], after: Sequence[Change]) -> bool:
        """Whether the further changes of a list gain more than noise would."""
        sure, more = float(np.median(self.sd[self.main])), len(after) - len(before)
        squares = (self.squares(before) - self.squares(after)) / sure**2
        falls = self.worst(self.after(before)) - self.worst(self.after(after))
        return squares > 0.0 and (falls >= WORTH_SURE * sure * more or squares >= WORTH_SQUARES * more)

    def stage(self, what: str, number: int, cents: Floats) -> Stage:
        """The main notes of all (N,) [cents] at one time."""
        lines = [note.line for note in self.fitted if not note.alternate]
        shown = [round(float(each), 3) for each in cents[self.main]]
        return Stage.model_validate(
            {"what": what, "number": number, "lines": lines, "cents": shown, "worst_cents": self.worst(cents),
             "rms_cents": self.rms(cents)}
        )  # fmt: skip


def corrected(
    record: LayoutRecord,
    fit: CalibrationRecord,
    loaded: LoadedProject | None,
    earlier: CorrectionRecord | None = None,
    tolerances: Sequence[float] = TOLERANCES,
    seconds: float = 5.0,
) -> tuple[CorrectionRecord, LayoutRecord]:
    """What to change of a measured instrument, and its layout once this pass is done.

    Parameters
    ----------
    record : the layout that was measured
    fit : what was found
    loaded : the project, whose limits count; None where there is none
    earlier : the pass before, whose corrected layout this is
    tolerances : of the curve, widest first [cents]
    seconds : how long each choice may take [s]

    Raises
    ------
    Fault
        for a fit of another layout
    """
    work = Correction(record, fit, loaded)
    lists = [(tolerance, *work.best(tolerance, seconds)) for tolerance in tolerances]
    curve = _curve(work, lists)
    best = max((number for number, point in enumerate(curve) if not point.noise), default=None)
    if best is not None:
        best = [changes for _, changes, _ in lists].index(lists[best][1])
    whole = [] if best is None else in_order(lists[best][1], record)
    number = earlier.number + 1 if earlier else 1
    steps, now = _in_this_pass(work, whole, number)
    at_last, at_once = work.after(whole), work.after(now)
    designed = np.array([note.designed_cents for note in work.fitted])
    history = list(earlier.history) if earlier else [work.stage("designed", 1, designed)]
    history.append(work.stage("measured", number, work.errors))
    if now:
        history.append(work.stage("corrected", number, at_once))
    return (
        CorrectionRecord(
            instrument=record.instrument,
            layout=record.id,
            layout_mark=layout_mark(record),
            number=number,
            curve=curve,
            recommended=best,
            steps=steps,
            notes=[
                CorrectedNote(
                    **note.model_dump(include=set(CorrectedNote.model_fields)),
                    after_pass_cents=float(once),
                    after_cents=float(last),
                )
                for note, once, last in zip(work.fitted, at_once, at_last, strict=True)
            ],
            history=history,
            reprint=best_reprint(record, work.bench, work.main, at_last),
            remarks=_remarks(work, loaded, whole),
            cautions=[cautions.WORKING] if any(not step.reversible for step in steps) else [],
        ),
        as_corrected(record, now, number),
    )


def _curve(work: Correction, lists: Sequence[tuple[float, list[Change], bool]]) -> list[CurvePoint]:
    """The points of the curve, each counted against the last that was no noise."""
    last: list[Change] = []
    points = []
    for tolerance, changes, proved in lists:
        cents = work.after(changes)
        noise = len(changes) > len(last) and not work.gains(last, changes)
        points.append(
            CurvePoint(
                tolerance_cents=tolerance,
                changes=len(changes),
                proved=proved,
                worst_cents=work.worst(cents),
                rms_cents=work.rms(cents),
                reached=bool(np.all((np.abs(cents) <= work.allowed(tolerance) + WITHIN)[work.main])),
                noise=noise,
                words=[each.words for each in changes],
            )
        )
        if not noise:
            last = changes
    return points


def in_order(changes: Sequence[Change], record: LayoutRecord) -> list[Change]:
    """Changes as they are done: what can be taken back first; holes from the bell up."""
    place = {hole.id: -hole.position_mm for hole in record.holes}
    return sorted(changes, key=lambda each: (ORDER.index(each.kind), place.get(each.place, 0.0)))


def _in_this_pass(work: Correction, whole: Sequence[Change], number: int) -> tuple[list[CorrectionStep], list[Change]]:
    """The steps, and what of them is done in this pass: what cannot be taken back as far as is safe, and the rest set
    to what leaves the least error then, or not at all."""
    sure = [_sure_to(work, each) for each in whole]
    cut = [
        each._replace(amount=_short(each.amount, sd, KINDS[each.kind], number))
        for each, sd in zip(whole, sure, strict=True)
        if not KINDS[each.kind].reversible
    ]
    cut = work.bench.kept([each for each in cut if each.amount])
    free = [each for each in whole if KINDS[each.kind].reversible]
    ways = [work.bench.kept([*way, *cut]) for way in (free, _settled_beside(work, free, cut), [])] + [[]]
    now = min(ways, key=work.squares)
    amounts = {(each.kind, each.place): each.amount for each in now}
    steps = [
        _step(work, place, each, amounts.get((each.kind, each.place), 0.0), sd)
        for place, (each, sd) in enumerate(zip(whole, sure, strict=True), start=1)
    ]
    return steps, now


def _settled_beside(work: Correction, free: Sequence[Change], cut: Sequence[Change]) -> list[Change]:
    """Changes that can be taken back, by the amounts that leave the least error beside those that cannot."""
    if not free:
        return []
    wanted = work.bench.amounts(free) > 0.0
    found = settled(work.after(cut), work.allowed(0.0), work.columns, wanted)
    return work.bench.changes(found.amounts)


def _sure_to(work: Correction, change: Change) -> float:
    """One standard deviation of the amount that the note asks for which a change moves most."""
    sd = KINDS[change.kind].sure
    slopes = np.abs(np.where(work.main, work.bench.moved([change]), 0.0)) / abs(change.amount)
    most = int(np.argmax(slopes))
    return float(np.hypot(work.sd[most] / slopes[most], sd)) if slopes[most] > 0.0 else sd


def _step(work: Correction, number: int, change: Change, now: float, sd: float) -> CorrectionStep:
    kind = KINDS[change.kind]
    return CorrectionStep(
        number=number,
        kind=change.kind,
        place=change.place,
        reversible=kind.reversible,
        now=now,
        whole=change.amount,
        sd=sd,
        unit=kind.unit,
        words=change._replace(amount=now).words if now else f"measure again before this: {change.words}",
        moves=[round(float(each), 3) for each in work.bench.moved([change])],
    )


def _short(amount: float, sd: float, kind: Kind, number: int) -> float:
    """How much of an amount that cannot be taken back is safe in a pass."""
    safe = amount - Z_HIGH * sd
    if number > 1:
        safe = max(safe, 0.5 * amount, min(kind.least, amount))
    safe = round(float(np.floor(safe / kind.step + 1e-6)) * kind.step, 4)
    return safe if safe >= kind.least else 0.0


def _remarks(work: Correction, loaded: LoadedProject | None, whole: Sequence[Change]) -> list[str]:
    found = []
    if loaded is None:
        found.append("no project tells limits: see by yourself that walls, pads and fingers have room for wider holes")
    found += work.bench.limits.broken if work.bench.limits else []
    if not whole and work.worst(work.errors) > TOLERANCES[-1]:
        found.append("no change gains more than what a note is sure to: look for leaks, or measure again")
    elif not whole:
        found.append("nothing to change: every note is within the tolerance")
    return found
