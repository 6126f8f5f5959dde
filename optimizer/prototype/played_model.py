"""What an instrument that was played may differ in from its layout, one number each, and what that does to its notes.

Every number is counted in its own standard deviation before anything was measured: the stated deviations of making and
playing (`deviations`), the formulas' own errors (`model_errors`), and how high a measurement lies as a whole, by its
clock, its A4 and its player.

| tier | what is in it |
|---|---|
| 1 | reed, air, how high the measurement lies |
| 2 | bore, shrinkage, all printed holes alike, formulas common to a kind of element |
| 3 | each hole by itself: diameter, chimney, position, the formula of it closed |
"""

from typing import NamedTuple, get_args

import numpy as np

from acoustics.arrays import Floats, map_arrays
from acoustics.resonances import chart_errors, note_errors
from optimizer.analysis.sensitivity import Sensitivity, sensitivity, shifts
from optimizer.geometry.deviations import OF_HOLES, PLAYING, Deviations, by_deviation, moved_ducts
from optimizer.project.learned import FORMULAS, Learned, Made
from optimizer.project.model import AirState
from optimizer.project.uncertainty import Uncertainty, unit_of
from optimizer.records.layout import LayoutRecord
from optimizer.records.measurement import CommonDeviations, MeasurementRecord
from optimizer.solving.real_resonances import predict
from optimizer.solving.uncertainty import formula_names, model_errors

REED_CM3 = 0.1
"""How well the air of a reed with its compliance is known at the least: common practice, no source."""

STEPS = 3
"""Of Newton's method from the layout's resonances to those of the instrument: the third leaves less than 1e-5 cents."""

ASIDE_CENTS = 0.5
"""How far to either side it is looked how the error of a note falls with pitch."""

PITCH = "how high the measurement lies"
TIERS = ("reed and air", "bore and all holes alike", "each hole by itself")
FORMULA = "formula"


class Played(NamedTuple):
    """A layout as it was played, and the numbers (P,) it may differ in.

    Attributes
    ----------
    layout : its notes (N,) in the air they were played in
    lines : (N,) their places in the layout's record
    holes : (H,) ids
    names, kinds : (P,)
    tier : (P,) from 1
    sd : (P,) one standard deviation, in the unit of its kind; of a formula in its stated one
    fixed : (N, F) what one deviation of each formula, and last of the measurement as a whole, brings [cents]
    """

    layout: Sensitivity
    lines: list[int]
    holes: list[str]
    names: list[str]
    kinds: list[str]
    tier: np.ndarray
    sd: Floats
    fixed: Floats

    @property
    def of_measurement(self) -> np.ndarray:
        """Which number (P,) is of the measurement and not of the instrument."""
        return np.array([name == PITCH for name in self.names])

    def cents(self, theta: Floats) -> Floats:
        """Notes (N,) above what the layout's project wants [cents], by the exact model.

        Parameters
        ----------
        theta : (P,) in standard deviations

        Raises
        ------
        ValueError
            when they leave a hole without size
        """
        made, rest = np.split(theta, [len(self.layout.may.names)])
        found = shifts(self.layout, self.layout.may, np.stack([np.zeros(len(made)), made]), steps=STEPS)
        return np.asarray(self.layout.cents + found[1] - found[0] + self.fixed @ rest)

    def slopes(self, theta: Floats, cents: Floats) -> Floats:
        """Slopes (N, P) of the notes [cents for one standard deviation].

        A resonance moves by the slope of the error at it over how the error falls with pitch: by nearly 1 cent a cent,
        but for what external interaction has of it, which the error takes at one frequency.

        Parameters
        ----------
        theta : (P,) in standard deviations
        cents : (N,) the notes there [cents]
        """
        made, rest = np.split(theta, [len(self.layout.may.names)])
        duct = map_arrays(lambda value: value[0], moved_ducts(self.layout.duct, self.layout.may, made[None]))
        sounded = self.layout.frequency * 2.0 ** ((cents - self.fixed @ rest - self.layout.cents) / 1200.0)
        found = note_errors(duct, self.layout.openness, sounded)
        below, above = (
            chart_errors(duct, self.layout.openness, sounded * 2.0 ** (by / 1200.0))
            for by in (-ASIDE_CENTS, ASIDE_CENTS)
        )
        falls = (below - above) / (2.0 * ASIDE_CENTS)
        return np.column_stack([by_deviation(found.slope, self.layout.may) / falls[:, None], self.fixed])


def played(record: LayoutRecord, measured: MeasurementRecord | None = None) -> Played:
    """A layout as it was played.

    Parameters
    ----------
    record : the layout
    measured : says the air, and how sure its notes are as a whole; without one only the instrument counts

    Raises
    ------
    ValueError
        when no note of the layout sounds
    """
    common = measured.common if measured else CommonDeviations()
    there = _in_its_air(record, measured.temperature_degC if measured else None)
    stated = stated_for(record, measured)
    layout = _of_what_deviates(sensitivity(there, stated))
    lines = [line for line, note in enumerate(there.notes) if note.frequency_hz is not None and note.cents is not None]
    quality = np.array([note.quality or np.inf for note in layout.notes], float)
    formulas = model_errors(layout.found, layout.duct, layout.openness, quality)
    pitch = np.hypot(np.hypot(common.clock_cents, common.a4_cents), common.player_cents)
    holes = [hole.id for hole in record.holes]
    wrong, sure = formula_names(holes), _sure_of_formulas(record)
    names = [*layout.may.names, *wrong, PITCH]
    kinds = [*layout.may.kinds, *[FORMULA] * len(holes), *FORMULAS, "measurement_cents"]
    alone = [source == OF_HOLES for source in layout.may.sources] + [" of closed " in name for name in wrong] + [False]
    playing = [kind in PLAYING or name == PITCH for kind, name in zip(kinds, names, strict=True)]
    sd = np.concatenate([layout.may.sd, sure, [pitch]])
    columns = np.column_stack([formulas * sure, np.full(len(layout.notes), pitch)])
    return Played(layout, lines, holes, names, kinds, np.where(alone, 3, np.where(playing, 1, 2)), sd, columns)


def stated_for(record: LayoutRecord, measured: MeasurementRecord | None) -> Uncertainty:
    """Deviations of an instrument before it was measured: as stated, but the reed's air known to `REED_CM3` at the
    best, and all printed holes alike as sure as one where nothing is said of them.

    Parameters
    ----------
    record : the layout
    measured : whose thermometer counts instead of what the project says of the air
    """
    stated = record.reference.uncertainty
    share = 0.01 * stated.reed_volume_percent * record.reed.volume_cm3
    told = float(np.hypot(share, stated.reed_volume_cm3))
    sure = measured.common.temperature_K if measured and measured.temperature_degC is not None else None
    known = (record.reference.learned or Learned()).sure(get_args(Made))
    before = stated.model_copy(
        update={
            "reed_volume_percent": 0.0,
            "reed_volume_cm3": told if stated.reed_volume_cm3 else max(told, REED_CM3),
            "all_holes_mm": stated.all_holes_mm or stated.hole_diameter_mm,
            "temperature_degC": stated.temperature_degC,
        }
    )
    return before.model_copy(update=known | ({} if sure is None else {"temperature_degC": sure}))


def _sure_of_formulas(record: LayoutRecord) -> Floats:
    """One standard deviation of each formula's error (M,), in its stated one, before the instrument was measured."""
    known = (record.reference.learned or Learned()).sure(FORMULAS)
    return np.concatenate([np.ones(len(record.holes)), [known.get(kind, 1.0) for kind in FORMULAS]])


def _of_what_deviates(layout: Sensitivity) -> Sensitivity:
    """A layout's notes without the deviations that are stated as none."""
    some, may = layout.may.sd > 0.0, layout.may

    def kept(words: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(word for word, wanted in zip(words, some, strict=True) if wanted)

    direction = map_arrays(lambda value: value[some], may.direction)
    along = may.formulas._replace(along=may.formulas.along[some])
    left = Deviations(kept(may.names), kept(may.kinds), kept(may.sources), may.sd[some], direction, along)
    return layout._replace(may=left, by=layout.by[:, some])


def _in_its_air(record: LayoutRecord, bell_degC: float | None) -> LayoutRecord:
    """A layout with its notes in air of another temperature at the bell, the reed's as much warmer or colder."""
    air = record.reference.air
    if bell_degC is None or bell_degC == air.bell_degC:
        return record
    more = bell_degC - air.bell_degC
    there = AirState.model_validate(air.model_dump() | {"bell_degC": bell_degC, "reed_degC": air.reed_degC + more})
    reference = record.reference.model_copy(update={"air": there})
    return record.model_copy(update={"reference": reference, "notes": predict(record, there)})


def unit_in_words(kind: str) -> str:
    """What a number of this kind is counted in, for a sentence or a table."""
    told = {"measurement_cents": "cents", "temperature_degC": "K"}
    return told.get(kind) or ("of its deviation" if kind.startswith(FORMULA) else unit_of(kind))
