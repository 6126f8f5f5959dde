"""What a layout's notes sound like: predicted pitches, and levels of partials by its own duct."""

import numpy as np

from optimizer.project.faults import Fault
from optimizer.records.layout import LayoutRecord
from optimizer.records.prediction import PredictionRecord
from optimizer.records.sound import SoundedNote, SoundRecord
from optimizer.solving.partials import partial_levels
from optimizer.solving.real_resonances import record_duct


def sound_of(record: LayoutRecord, told: PredictionRecord | None = None) -> SoundRecord:
    """The notes of a layout with the levels of their partials.

    Parameters
    ----------
    record : the layout
    told : its notes in other air or at another pitch; None: as it was designed

    Raises
    ------
    Fault
        for a layout whose geometry cannot be played
    """
    notes = record.notes if told is None else told.notes
    air = record.reference.air if told is None else told.air
    heard = [note for note in notes if note.frequency_hz is not None]
    openness = np.array([note.openness for note in heard]).reshape(len(heard), len(record.holes))
    try:
        found = partial_levels(
            record_duct(record, air), openness, np.array([note.frequency_hz for note in heard], float)
        )
    except ValueError as error:  # of linear algebra, too
        raise Fault(f"the layout holds no playable geometry: {error}") from None
    levels = iter(found)
    main = [note for note in heard if not note.alternate] or heard
    kept = set(SoundedNote.model_fields) - {"level_db"}
    return SoundRecord(
        instrument=record.instrument,
        layout=record.id,
        a4_hz=record.reference.a4_hz if told is None else told.a4_hz,
        air=air,
        drone=min(main, key=lambda note: note.target_hz).written if main else None,
        notes=[
            SoundedNote(**note.model_dump(include=kept), level_db=[] if note.frequency_hz is None else next(levels))
            for note in notes
        ],
    )


def heard(record: LayoutRecord) -> SoundRecord | None:
    """The same for a page, which does without where a layout's geometry cannot be played."""
    try:
        return sound_of(record)
    except Fault:
        return None
