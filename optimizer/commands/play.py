"""`play`: what a layout sounds like, as a sound file."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from optimizer.commands.options import RESULTS, AnyLayout, Json, Layout, Runs, Wrong, measure, option, text, word
from optimizer.hearing.tracks import FORMATS, TRACKS
from optimizer.project.allowed_ranges import A4_HZ, AIR_DEGC, Bounds

if TYPE_CHECKING:
    from optimizer.records.layout import LayoutRecord

SECONDS = Bounds(least=0.2, most=20, unit="s")


def sound_file(text: str) -> Path | Wrong:
    """Reads the path of a sound file to write."""
    if Path(text).suffix.lower() in FORMATS:
        return Path(text)
    return Wrong(f"--to must end in {' or '.join(FORMATS)}, but got {text!r}")


def play(
    path: AnyLayout,
    to: Annotated[Path, option("--to", sound_file, "FILE", "sound file to write: .wav or .flac")],
    layout: Layout = None,
    note: Annotated[
        list[str] | None, text("--note", "NOTE", "written notes, every fingering of each (default: all main notes)")
    ] = None,
    track: Annotated[
        str,
        option(
            "--track", word("--track", list(TRACKS)), "TRACK",
            "; ".join(f"{name}: {words}" for name, words in TRACKS.items()),
        ),
    ] = "alone",
    drone: Annotated[str | None, text("--drone", "NOTE", "the note that is held (default: the lowest)")] = None,
    then: Annotated[
        str | None, text("--then", "LAYOUT", "another layout, note after note in turn: a path, or an id of the run")
    ] = None,
    seconds: Annotated[float, measure("--seconds", float, SECONDS, "how long each tone lasts")] = 2.0,
    reed_degc: Annotated[float | None, measure("--reed-degc", float, AIR_DEGC, "air at the reed end, degC")] = None,
    bell_degc: Annotated[float | None, measure("--bell-degc", float, AIR_DEGC, "air at the bell end, degC")] = None,
    a4: Annotated[float | None, measure("--a4", float, A4_HZ, "reference pitch, Hz")] = None,
    json: Json = None,
    results: Runs = RESULTS,
) -> int:  # fmt: skip
    """A layout's notes as a sound file: computed pitches, an invented timbre.

    Raises
    ------
    Fault
        when the layout has no such note, and when none of them sounds
    """
    from optimizer.analysis.prediction import predicted
    from optimizer.analysis.sound import sound_of
    from optimizer.analysis.written_layout import layout_meant
    from optimizer.commands.console import console, write_if_asked
    from optimizer.hearing.playing import chosen, played, steps, write_sound
    from optimizer.records.files import write_record
    from optimizer.views.sound_tables import show_sound, sound_words

    layouts = [layout_meant(path, results, layout, feasible=True), *([_other(path, then, results)] if then else [])]
    as_designed = reed_degc is bell_degc is a4 is None
    sounds = [
        sound_of(each, None if as_designed else predicted(each, reed_degC=reed_degc, bell_degC=bell_degc, a4_hz=a4))
        for each in layouts
    ]
    heard = chosen(sounds[0], note or ())
    held = chosen(sounds[0], [drone or sounds[0].drone or ""]).notes[0] if track == "drone" else None
    score = steps(heard.notes, track, held, *sounds[1:])
    title, comment = sound_words(sounds, track, held)
    show_sound(console(), (title, comment), heard.notes, heard.silent)
    write_if_asked(to, lambda place: write_sound(place, played(score, seconds), title, comment))
    write_if_asked(json, lambda place: write_record(place, sounds[0]))
    return 0


def _other(path: Path, then: str, results: Path) -> "LayoutRecord":
    """The other layout: of the same run by its id, or of a path of its own."""
    from optimizer.analysis.written_layout import layout_meant

    if path.is_dir() and not Path(then).exists():
        return layout_meant(path, results, then)
    return layout_meant(Path(then), results, feasible=True)
