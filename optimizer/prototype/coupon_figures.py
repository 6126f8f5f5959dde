"""What coupons say of their printer: each figure with its deviation and interval, from the sizes that were read.

| figure | from |
|---|---|
| offset, slope and scatter of holes | made = offset + slope x drawn, along, around and as circles, each by itself |
| oval | along less around |
| shrinkage along | faces apart: made = offset + (1 - shrinkage) x drawn |
| shrinkage across, offsets of bore and outside | steps of both, which shrink alike, each with an offset of its own |
| clearance | the middle of those that fit, as made: both offsets count |
| squeeze | the middle of the grooves that fit, with the gap beside them, against the cord |
| facing | what was taken off seats until they sealed |
"""

import math
from collections.abc import Sequence

import numpy as np

from acoustics.arrays import Floats
from optimizer.project.faults import Fault
from optimizer.prototype.coupon_lines import Estimate, Line, fitted
from optimizer.prototype.coupon_readings import NARROW, NOT_WIDER, CouponReadings, ThingRead, Wider, repeats, sizes_of
from optimizer.prototype.coupon_trials import tried_figures
from optimizer.records.coupon import CouponFigure, CouponRecord, CouponSize, Feature, Way
from optimizer.words import counted, listed

SIZES_LEAST = 3
"""So many sizes tell a slope at the least."""

SPAN_LEAST = 1.5
"""The widest must be so many times the narrowest."""

WAYS: tuple[Way, ...] = ("along", "around", "round")
TOLD = {"along": "along the bore", "around": "around the bore", "round": "as a circle"}


class NotEnough(Exception):  # noqa: N818  (a signal within this module: what cannot be told, and why)
    """Why a figure cannot be told."""


def coupon_record(readings: CouponReadings, source: str) -> CouponRecord:
    """What readings of coupons say.

    Parameters
    ----------
    readings : of one printer
    source : what they are called

    Raises
    ------
    Fault
        where they tell no figure at all
    """
    found = _Found(readings)
    for tell in (found.oval, found.holes, found.lengths, found.steps, found.trials, found.seats):
        tell()
    if not found.figures:
        raise Fault(*found.remarks, heading="coupon readings to add to")
    return CouponRecord(
        source=source,
        prints=len(readings.prints),
        figures=found.figures,
        sizes=found.sizes(),
        remarks=[*found.remarks, *_of_prints(readings), *found.of_readings()],
    )


def _of_prints(readings: CouponReadings) -> list[str]:
    if len(readings.prints) > 1:
        return []
    return [
        "known from one print only: another may differ from it as a whole by more than these intervals; print and "
        "read three, and give each its name under print"
    ]


class _Found:
    """Figures and remarks, gathered."""

    def __init__(self, readings: CouponReadings) -> None:
        self.figures: list[CouponFigure] = []
        self.remarks: list[str] = []
        self._readings = readings
        self._scatter = repeats(readings.read)
        self._wider = NOT_WIDER
        self._steps: Line | None = None

    def of(self, what: Feature, way: Way = "round") -> list[ThingRead]:
        """What was read of a feature in one way."""
        return [each for each in self._readings.read if (each.thing.what, each.way) == (what, way)]

    def oval(self) -> None:
        """How much longer along than around holes are."""
        along, around = self.of("hole", "along"), self.of("hole", "around")
        if len(along) < 2:
            if any(each.pins or set(each.values) & set(NARROW) for each in self.of("hole")):
                self.remarks.append("pins go by the narrower way of a hole; read some along and around, by calipers")
            return
        sizes = sizes_of(along, self._scatter)
        less = sizes_of(around, self._scatter)
        # What a tool errs alike goes with the difference.
        apart = sizes._replace(made=sizes.made - less.made, own=np.hypot(sizes.own, less.own), shared=sizes.shared * 0)
        line = fitted(np.ones((len(along), 1)), apart)
        self._wider = _half_a_size(line.coefficients[0], line.scatter.value)
        self._add("hole_oval", "hole along less around", line.coefficients[0])

    def holes(self) -> None:
        """Lines of holes, along, around and as circles."""
        for way in WAYS:
            read = self.of("hole", way)
            if not read:
                continue
            called = f"holes {TOLD[way]}"
            try:
                line = self._line(called, read)
            except NotEnough as why:
                self.remarks.append(str(why))
                continue
            offset, slope = line.coefficients
            self._add(f"hole_offset_{way}", f"{called}: offset", offset)
            self._add(f"hole_slope_{way}", f"{called}: slope, made over drawn", slope, "")
            self._scattered(f"hole_scatter_{way}", called, line)
            if way == "round":
                self._add("hole_known", "holes: what is left open of all alike", _left_open(line, _drawn(read)))

    def lengths(self) -> None:
        """Shrinkage along, by faces apart."""
        read = self.of("length")
        if not read:
            self.remarks.append("no faces were read, so that nothing is known of shrinkage along the bore")
            return
        drawn = _drawn(read)
        long = drawn >= max(drawn) / SPAN_LEAST
        try:
            line = self._line("faces", read, moved=drawn / max(drawn))
            slope = line.coefficients[1]
            self._add("length_offset", "faces: offset of both ends", line.coefficients[0])
            self._scattered("length_scatter", "faces", line)
        except NotEnough as why:
            self.remarks.append(f"{why}; what both ends lack counts as shrinkage")
            slope = self._of_the_longest([each for each, one in zip(read, long, strict=True) if one])
        self._shrinks("shrinkage_along", "shrinkage along the bore", slope)

    def _of_the_longest(self, read: list[ThingRead]) -> Estimate:
        """Made over drawn of the longest lengths, their ends taken to lie as drawn."""
        drawn, sizes = _drawn(read), sizes_of(read, self._scatter)
        if len(read) > 1:
            return fitted(drawn[:, None], sizes._replace(moved=drawn / max(drawn))).coefficients[0]
        ratio, sd = sizes.made[0] / drawn[0], float(np.hypot(sizes.own[0], np.linalg.norm(sizes.shared[0]))) / drawn[0]
        return Estimate(float(ratio), float(sd), float(ratio - 1.96 * sd), float(ratio + 1.96 * sd))

    def steps(self) -> None:
        """Shrinkage across, and the offsets of bore and outside, by the steps of both."""
        bore, outside = self.of("bore"), self.of("outside")
        kinds = [(name, read) for name, read in (("outside", outside), ("bore", bore)) if read]
        if not kinds:
            self.remarks.append("no steps of bore or outside were read, so that nothing is known of them")
            return
        read = [each for _, part in kinds for each in part]
        moved = np.array([-1.0 if each.thing.what == "bore" else 1.0 for each in read])
        columns = np.array([[each.thing.what == name for name, _ in kinds] for each in read], float)
        try:
            line = self._line(f"steps of {listed([name for name, _ in kinds])}", read, columns, moved)
        except NotEnough as why:
            self.remarks.append(str(why))
            return
        for (name, _), offset in zip(kinds, line.coefficients, strict=False):
            self._add(f"{name}_offset", f"{name}: offset of its diameter", offset)
        self._shrinks("shrinkage_across", "shrinkage across the bore", line.coefficients[-1])
        self._scattered("step_scatter", "steps", line)
        self._steps = line if len(kinds) == 2 else None

    def trials(self) -> None:
        """Clearance and groove, as they were tried."""
        figures, remarks = tried_figures(self._readings, self._steps)
        self.figures += figures
        self.remarks += remarks

    def seats(self) -> None:
        """What was taken off seats until they sealed."""
        read = self.of("seat")
        if len(read) > 1:
            line = fitted(np.ones((len(read), 1)), sizes_of(read, self._scatter))
            self._add("facing", "taken off a seat until it seals", line.coefficients[0])
            self._scattered("facing_scatter", "facing", line)
        elif read:
            self.remarks.append("one seat alone was faced, which says nothing of others")

    def sizes(self) -> list[CouponSize]:
        """Every size that was read."""
        made = [float(sizes_of([each], self._scatter, self._wider).made[0]) for each in self._readings.read]
        return [
            CouponSize(**each.thing._asdict(), way=each.way, made_mm=round(size, 4))
            for each, size in zip(self._readings.read, made, strict=True)
        ]

    def of_readings(self) -> list[str]:
        """What is to be said of how things were read."""
        used = {tool for each in self._readings.read for tool in each.values}
        once = sorted(used - {tool for tool, _ in self._scatter})
        said = [
            f"{tool}: single readings scatter by {sd:.3f} mm"
            for (tool, way), sd in sorted(self._scatter.items())
            if way == "round"
        ]
        if once:
            said.append(
                f"nothing was read twice by {listed(once)}: how far readings scatter counts as the printer's; read "
                "some things three times"
            )
        return said

    def _line(
        self, called: str, read: Sequence[ThingRead], columns: Floats | None = None, moved: Floats | None = None
    ) -> Line:
        """The line that things lie about; columns (n, kinds) have an offset each, one for all without; moved (n,)."""
        drawn = _drawn(read)
        offsets = np.ones((len(read), 1)) if columns is None else columns
        _check_enough(called, drawn, offsets.shape[1])
        sizes = sizes_of(read, self._scatter, self._wider if read[0].way == "round" else NOT_WIDER)
        if moved is not None:
            sizes = sizes._replace(moved=moved)
        try:
            return fitted(np.column_stack([offsets, drawn]), sizes)
        except (ValueError, np.linalg.LinAlgError):
            raise NotEnough(f"{called}: {counted(len(read), 'size')} leave nothing over to tell scatter by") from None

    def _add(self, name: str, told: str, found: Estimate, unit: str = "mm") -> None:
        rounded = (round(float(value), 6) for value in found)
        value, sd, low, high = rounded
        self.figures.append(
            CouponFigure(name=name, told=told, unit=unit, value=value, sd=sd, low=low, high=high)  # type: ignore[arg-type]
        )

    def _shrinks(self, name: str, told: str, slope: Estimate) -> None:
        percent = Estimate(*(100.0 * (1.0 - value) for value in (slope.value, 0.0, slope.high, slope.low)))
        self._add(name, told, percent._replace(sd=100.0 * slope.sd), "%")

    def _scattered(self, name: str, called: str, line: Line) -> None:
        self._add(name, f"{called}: scatter of one", line.scatter)
        if line.between is not None:
            self._add(f"{name}_of_prints", f"{called}: of whole prints", line.between)


def _drawn(read: Sequence[ThingRead]) -> Floats:
    """Drawn sizes (n,) [mm]."""
    return np.array([each.thing.drawn_mm for each in read])


def _half_a_size(mean: Estimate, sd: float) -> Wider:
    """Half the size, whichever sign it has, of a normal number (Leone, Nelson & Nottingham, Technometrics 3, 1961)."""
    if sd == 0.0:
        return Wider(0.5 * abs(mean.value), 0.0, 0.5 * mean.sd)
    share = mean.value / (sd * math.sqrt(2.0))
    slope = math.erf(share)
    size = sd * math.sqrt(2.0 / math.pi) * math.exp(-(share**2)) + mean.value * slope
    return Wider(0.5 * size, 0.5 * math.sqrt(max(mean.value**2 + sd**2 - size**2, 0.0)), 0.5 * abs(slope) * mean.sd)


def _left_open(line: Line, drawn: Floats) -> Estimate:
    """One deviation of all holes alike, over the sizes (n,) that were drawn: of the line, and of whole prints."""
    design = np.column_stack([np.ones(len(drawn)), drawn])
    known = float(np.sqrt(np.mean(np.einsum("np,pq,nq->n", design, line.covariance, design))))
    between = line.between.value if line.between else 0.0
    sd = float(np.hypot(known, between))
    return Estimate(sd, 0.0, sd, sd)


def _check_enough(called: str, drawn: Floats, offsets: int) -> None:
    different = sorted(set(drawn.tolist()))
    if len(different) < SIZES_LEAST:
        had = listed([f"{size:g}" for size in different])
        raise NotEnough(
            f"{called}: a slope needs {SIZES_LEAST} sizes, but {had} mm {'was' if len(different) == 1 else 'were'} read"
        )
    if max(different) < SPAN_LEAST * min(different):
        raise NotEnough(f"{called}: from {min(different):g} to {max(different):g} mm is too near together for a slope")
    if len(drawn) < offsets + 2:
        raise NotEnough(f"{called}: {counted(len(drawn), 'size')} leave nothing over to tell scatter by")
