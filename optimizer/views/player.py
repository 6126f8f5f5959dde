"""What a page plays a layout's notes with: what there is to choose, what must be said, and the figures."""

from collections.abc import Sequence
from dataclasses import dataclass

from optimizer.hearing.tracks import TRACKS
from optimizer.records.sound import SoundRecord
from optimizer.views.solid import Json
from optimizer.words import listed


@dataclass(frozen=True)
class Player:
    """Choices by value and words; notes and drones by their number in the record, drone the one chosen first."""

    tracks: Sequence[tuple[str, str]]
    notes: Sequence[tuple[int, str]]
    drones: Sequence[tuple[int, str]]
    drone: int
    said: str
    data: Json


def player_of(sound: SoundRecord | None) -> Player | None:
    """The player of a layout's notes; None where none of them sounds."""
    lines = [] if sound is None else list(enumerate(sound.notes))
    heard = [(at, note) for at, note in lines if note.frequency_hz is not None]
    if sound is None or not heard:
        return None
    main = [(at, note.written) for at, note in heard if not note.alternate]
    silent = [note.written for _, note in lines if note.frequency_hz is None]
    said = f"{sound.label[0].upper()}{sound.label[1:]}: what a note is off is the layout's, how it sounds a guess."
    return Player(
        tracks=list(TRACKS.items()),
        notes=[(at, f"{note.written}, {note.touches}" if note.alternate else note.written) for at, note in heard],
        drones=main or [(at, note.written) for at, note in heard],
        drone=next(at for at, note in heard if note.written == sound.drone),
        said=said + (f" Left out, as nothing sounds near: {listed(silent)}." if silent else ""),
        data=Json(sound.model_dump_json()),
    )
