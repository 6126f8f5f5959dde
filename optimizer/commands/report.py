"""`report`: a run on one page; and what a search writes of itself when it ends."""

import os
from pathlib import Path
from typing import Annotated

from optimizer.commands.options import RunFolder, file
from optimizer.project.faults import Fault, writing
from optimizer.words import typed


def report(
    run: RunFolder,
    out: Annotated[Path | None, file("--out", "the page (default: report.html in the run folder)")] = None,
) -> int:
    """Write one page of a run, to read offline or to print.

    Raises
    ------
    Fault
        when there is no such folder, or the page cannot be written
    """
    from optimizer.commands.console import console
    from optimizer.records.files import write_text
    from optimizer.records.recommendation import REPORT

    if not run.is_dir():
        raise Fault(f"{run} is no run folder")
    page, place = page_of(run), out or run / REPORT
    with writing(place, "the report could not be written"):
        write_text(place, page)
    console().print(f"written: {place}", soft_wrap=True)
    return 0


def page_of(run: Path) -> str:
    """The report of a run folder.

    Raises
    ------
    Fault
        when a file that it needs cannot be read
    """
    from optimizer.analysis.bore_tolerance import bore_told
    from optimizer.analysis.recommendation import recommendation_of
    from optimizer.analysis.sound import heard
    from optimizer.records.files import Folder
    from optimizer.records.layout import LayoutRecord
    from optimizer.records.named_layouts import front_of
    from optimizer.records.run import RunRecord
    from optimizer.views.report import report_page, shown_in_full

    front, read = front_of(run), Folder(run)
    found = recommendation_of(front, read)
    layouts = [read(name, LayoutRecord) for name in shown_in_full(front, found)]
    sounds, bores = list(map(heard, layouts)), list(map(bore_told, layouts))
    return report_page(read("run.json", RunRecord), front, found, layouts, sounds, bores)


def finish(run: Path, page: bool) -> list[str]:
    """Write what an ended run recommends into its folder, and its report where that is wanted.

    Parameters
    ----------
    run : the folder; one that is gone is not made anew
    page : whether the report is wanted

    Returns
    -------
    what to say of it, a line each; also of what could not be written, which costs the run nothing
    """
    from optimizer.analysis.recommendation import recommendation_of
    from optimizer.records.files import Folder, write_record, write_text
    from optimizer.records.named_layouts import front_of
    from optimizer.records.recommendation import FILE, REPORT

    place = run / FILE
    try:
        os.stat(run / "run.json")
        write_record(place, recommendation_of(front_of(run), Folder(run)))
        if not page:
            return []
        place = run / REPORT
        write_text(place, page_of(run))
    except (Fault, OSError) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else error
        again = f"`holewright report {typed(run)}` tries again"
        return [f"{place.name} could not be written: {why}. The run is whole; {again}."]
    return [f"report:           {place}"]
