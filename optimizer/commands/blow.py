"""`blow`: how far blowing moves a layout's notes, over a range of reeds."""

from pathlib import Path
from typing import Annotated

from optimizer.commands.options import RESULTS, AnyLayout, Json, Layout, Runs, file, measure, text
from optimizer.project.allowed_ranges import Bounds

SLIT = Bounds(least=0.05, most=200, unit="mm2")
CLOSING = Bounds(least=0.2, most=100, unit="kPa")


def blow(
    path: AnyLayout,
    layout: Layout = None,
    note: Annotated[
        list[str] | None, text("--note", "NOTE", "written notes, every fingering of each (default: all main notes)")
    ] = None,
    slit_mm2: Annotated[
        list[float] | None,
        measure("--slit-mm2", float, SLIT, "the reed's slit at rest under the lip, width by height: least and most"),
    ] = None,
    closing_kpa: Annotated[
        list[float] | None,
        measure("--closing-kpa", float, CLOSING, "the pressure that shuts the reed: least and most"),
    ] = None,
    svg: Annotated[Path | None, file("--svg", "draw it there")] = None,
    json: Json = None,
    results: Runs = RESULTS,
) -> int:
    """How far soft, middling and loud blowing moves a layout's notes, over a range of reeds.

    Raises
    ------
    Fault
        when the layout has no such note, when none of them sounds, and for a reed told by halves
    """
    from optimizer.solving.processes import on_one_core

    on_one_core()
    from optimizer.analysis.blowing import blowing_of, reeds_between, usual_reeds
    from optimizer.analysis.written_layout import layout_meant
    from optimizer.commands.console import console, write_if_asked
    from optimizer.commands.progress import Working
    from optimizer.project.faults import Fault
    from optimizer.records.files import write_record, write_text
    from optimizer.views.blowing_tables import show_blowing
    from optimizer.views.drawings.blowing import blowing_svg

    if bool(slit_mm2) != bool(closing_kpa):
        raise Fault("a reed is told by both, --slit-mm2 and --closing-kpa; give both or neither")
    if max(len(slit_mm2 or ()), len(closing_kpa or ())) > 2:
        raise Fault("--slit-mm2 and --closing-kpa each take the least and the most, or one number")
    record = layout_meant(path, results, layout, feasible=True)
    written = list(dict.fromkeys(each.written for each in record.notes))
    if unknown := [each for each in note or () if each not in written]:
        raise Fault(f"the layout has no note {unknown[0]!r}; it has {', '.join(written)}")
    wanted = [each for each in record.notes if (each.written in note if note else not each.alternate)]
    reeds = reeds_between(record, slit_mm2, closing_kpa) if slit_mm2 and closing_kpa else usual_reeds(record)
    with Working("blowing the notes", things="notes", quiet=True) as working:
        found = blowing_of(record, reeds, wanted or record.notes, working)
    show_blowing(console(), found)
    write_if_asked(svg, lambda place: write_text(place, blowing_svg(found)))
    write_if_asked(json, lambda place: write_record(place, found))
    return 0
