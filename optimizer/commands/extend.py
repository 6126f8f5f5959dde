"""`extend`: an instrument carried on to lower notes."""

from pathlib import Path
from typing import Annotated

from optimizer.commands.options import RESULTS, Hand, Learned, Minutes, Out, Results, Workers, given, measure
from optimizer.project.allowed_ranges import Bounds
from optimizer.project.faults import writing

REDRILL = Bounds(least=0, most=100)
KEEP = Bounds(least=1)


def extend(
    present: Annotated[Path, given("PRESENT", "the instrument there is: run folder, layout file or project file")],
    extended: Annotated[Path, given("EXTENDED", "project file (.toml) of the extended instrument")],
    redrill: Annotated[int, measure("--redrill", int, REDRILL, "most holes of kept pieces to open up")] = 3,
    keep: Annotated[
        int | None, measure("--keep", int, KEEP, "how many pieces to keep, from the reed (default: all but the last)")
    ] = None,
    out: Out = None,
    results: Results = RESULTS,
    hand: Hand = None,
    learned: Learned = None,
    minutes: Minutes = 4.0,
    workers: Workers = None,
) -> int:
    """Carry an instrument on to lower notes, three ways.

    All new; upper pieces kept; these kept with a few holes opened up.
    """
    from optimizer.analysis.extension import extended as solved
    from optimizer.commands.console import console
    from optimizer.commands.progress import Working
    from optimizer.project.loading import load_project
    from optimizer.records.files import make_private, write_record, write_text
    from optimizer.views.extension_page import extension_page, extension_picture
    from optimizer.views.extension_tables import show_extension

    place = out or results / f"{extended.stem}-extension"
    loaded = load_project(extended, hand, learned=learned)
    with writing(place):
        make_private(place, exist_ok=True)
    seconds = 60.0 * minutes
    with Working("solving the ways down", seconds) as told:
        found = solved(present, loaded, keep=keep, redrill=redrill, seconds=seconds, workers=workers, told=told)
    record, ways = found.record, found.ways
    show_extension(console(), record)
    with writing(place):
        for file, layout in found.files.items():
            write_record(place / file, layout)
        write_record(place / "extension.json", record)
        write_text(place / "extension.html", extension_page(record, found.present, ways))
        write_text(place / "extension.svg", extension_picture(record, found.present, ways))
    console().print(f"written: {place}/extension.html (a page), .svg (a picture) and .json", soft_wrap=True)
    console().print(f"beside them: {', '.join(['present.json', *(way.fit.file for way in record.ways)])}")
    return 0 if any(way.feasible for way in record.ways) else 1
