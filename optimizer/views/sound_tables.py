"""What is heard of a layout, in words and a table: how far each note is off, how it beats against itself in tune."""

from collections.abc import Sequence

from rich.console import Console

from optimizer.hearing.tracks import TRACKS
from optimizer.records.sound import SoundedNote, SoundRecord
from optimizer.views.table import Column, Table, tabled
from optimizer.views.terminal import show_lines, show_table
from optimizer.words import listed

NOTES: Sequence[Column[SoundedNote]] = [
    Column("written", lambda note: note.written),
    Column("sounding", lambda note: note.sounding),
    Column("fingered", lambda note: note.touches),
    Column("frequency", lambda note: note.frequency_hz, ".2f", "Hz"),
    Column("cents", lambda note: note.cents, "+z.1f"),
    Column("beats", lambda note: beats(note), ".2f", "a second"),
]


def beats(note: SoundedNote) -> float | None:
    """How often a note beats against itself in tune, by its first partial; the n-th beats n times as often [1/s]."""
    return None if note.frequency_hz is None else abs(note.frequency_hz - note.target_hz)


def sound_words(sounds: Sequence[SoundRecord], track: str, drone: SoundedNote | None = None) -> tuple[str, str]:
    """What a sound file is of, and what must be said of it.

    Parameters
    ----------
    sounds : of one layout, or of two that are heard in turn
    track : one of `TRACKS`
    drone : the note that is held, if one is
    """
    first = sounds[0]
    whose = " and ".join(f"{sound.instrument}, layout {sound.layout}" for sound in sounds)
    how = f"over {drone.written}, held in tune" if drone else TRACKS[track]
    air = f"{first.air.reed_degC:g} degC at the reed and {first.air.bell_degC:g} at the bell"
    return f"{whose}: {how}", f"{first.label}; A4 = {first.a4_hz:g} Hz, {air}"


def sound_table(notes: Sequence[SoundedNote]) -> Table:
    """The notes that are heard."""
    said = "beats: of the first partial against the note in tune; the second beats twice as often, and so on"
    return tabled("", NOTES, notes, notes=[said])


def show_sound(console: Console, said: Sequence[str], notes: Sequence[SoundedNote], silent: Sequence[str] = ()) -> None:
    """What is heard, as lines and the table of its notes, and which notes are not."""
    for line in said:
        console.print(line, soft_wrap=True)
    show_table(console, sound_table(notes))
    if silent:
        show_lines(console, [f"left out, as this layout sounds nothing near: {listed(silent)}"], "yellow")
