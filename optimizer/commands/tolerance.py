"""`tolerance`: what making and playing do to a layout's notes."""

from pathlib import Path
from typing import Annotated

from optimizer.commands.options import RESULTS, AnyLayout, Json, Layout, Learned, Runs, file, measure
from optimizer.project.allowed_ranges import SEED, Bounds
from optimizer.project.faults import Fault

SAMPLES = Bounds(least=20, most=100_000)
WITHIN = Bounds(above=0, most=1200, unit="cents")
WORTH = Bounds(above=0, most=100, unit="cents")


def tolerance(
    path: AnyLayout,
    layout: Layout = None,
    samples: Annotated[int, measure("--samples", int, SAMPLES, "how many instruments are drawn at random")] = 400,
    seed: Annotated[int, measure("--seed", int, SEED, "seed of the draws")] = 1,
    within: Annotated[float, measure("--within", float, WITHIN, "cents that all main notes should keep")] = 10.0,
    worth: Annotated[float, measure("--worth", float, WORTH, "cents for 0.1 mm that make a hole worth reaming")] = 0.5,
    learned: Learned = None,
    json: Json = None,
    svg: Annotated[Path | None, file("--svg", "draw the notes' bands there")] = None,
    results: Runs = RESULTS,
) -> int:
    """What making and playing do to the notes, and how to ream.

    Raises
    ------
    Fault
        for a layout that does not sound, and for deviations that leave a hole without size
    """
    from optimizer.analysis.tolerance import tolerance as told
    from optimizer.analysis.written_layout import layout_meant
    from optimizer.commands.console import console, write_if_asked
    from optimizer.commands.progress import Working
    from optimizer.commands.taught import taught
    from optimizer.records.files import write_record, write_text
    from optimizer.views.drawings.bands import tolerance_svg
    from optimizer.views.terminal import show_lines
    from optimizer.views.tolerance_tables import show_tolerance

    record, said = taught(layout_meant(path, results, layout, feasible=True), learned)
    try:
        with Working("drawing instruments at random", things="instruments", quiet=True) as progress:
            found = told(record, samples, seed, within, worth, progress)
    except (ValueError, OverflowError) as error:
        raise Fault(str(error)) from None
    show_tolerance(console(), found)
    show_lines(console(), said, whole=True)
    write_if_asked(json, lambda place: write_record(place, found))
    write_if_asked(svg, lambda place: write_text(place, tolerance_svg(found)))
    return 0
