"""What a finished layout sounds in other air or at another pitch, and how it lies under another hand."""

from optimizer.analysis.hand_fit import fit
from optimizer.project.allowed_ranges import A4_HZ, AIR_DEGC
from optimizer.project.faults import Fault
from optimizer.project.hand import Hand
from optimizer.project.learned import Learned
from optimizer.records.layout import LayoutRecord
from optimizer.records.prediction import HandRecord, PredictionRecord
from optimizer.solving.real_resonances import predict_with_doubt

BOUNDS = {"reed_degC": AIR_DEGC, "bell_degC": AIR_DEGC, "a4_hz": A4_HZ}


def as_taught(record: LayoutRecord, learned: Learned) -> LayoutRecord:
    """A layout with its notes as what a measured instrument taught makes them.

    Parameters
    ----------
    record : the layout
    learned : in place of what it was designed by

    Raises
    ------
    Fault
        where that leaves nothing that can be played
    """
    if wrong := learned.lacks_air(record.reed.volume_cm3):
        raise Fault(wrong)
    told = record.model_copy(update={"reference": record.reference.model_copy(update={"learned": learned})})
    try:
        notes, doubt = predict_with_doubt(told)
    except ValueError as error:
        raise Fault(f"by what was learned the layout holds no playable geometry: {error}") from None
    return told.model_copy(update={"notes": notes, "doubt": doubt})


def predicted(
    record: LayoutRecord,
    *,
    reed_degC: float | None = None,
    bell_degC: float | None = None,
    a4_hz: float | None = None,
    hand: Hand | None = None,
) -> PredictionRecord:
    """Predict a layout's notes; what is left out is as it was designed.

    Parameters
    ----------
    record : the layout
    reed_degC, bell_degC : air at the ends [degC]
    a4_hz : pitch of A4 [Hz]
    hand : to lay the layout under

    Raises
    ------
    Fault
        for a figure out of `BOUNDS`, and for a layout whose geometry cannot be played
    """
    asked = {"reed_degC": reed_degC, "bell_degC": bell_degC, "a4_hz": a4_hz}
    given = {name: value for name, value in asked.items() if value is not None}
    outside = [f"{name} {wrong}" for name, value in given.items() if (wrong := BOUNDS[name].wrong(value))]
    if outside:
        raise Fault(*outside)
    a4 = given.pop("a4_hz", record.reference.a4_hz)
    air = record.reference.air.model_copy(update=given)
    try:
        notes, doubt = predict_with_doubt(record, air, a4 / record.reference.a4_hz)
    except ValueError as error:
        raise Fault(f"the layout holds no playable geometry: {error}") from None
    cents = [note.cents for note in notes if note.cents is not None]
    under = None if hand is None else fit(record, hand)
    return PredictionRecord(
        instrument=record.instrument,
        layout=record.id,
        a4_hz=a4,
        air=air,
        mean_cents=sum(cents) / len(cents) if cents else None,
        least_cents=min(cents, default=None),
        most_cents=max(cents, default=None),
        notes=notes,
        doubt=doubt,
        hand=None if under is None else HandRecord(
            name=under.name, source=under.source, reach=under.reach, troubles=under.troubles, remarks=under.remarks
        ),
    )  # fmt: skip
