"""`handoff`: a layout as a folder of files for CAD, printer and bench."""

from pathlib import Path
from typing import Annotated

from optimizer.commands.options import RESULTS, AnyLayout, Layout, PaperWord, Runs, file, option, text, word
from optimizer.project.faults import Fault

STATES = ("finished", "printed", "ream", "all")
SIZES = "sizes of the pieces, one or more: finished, printed, ream (printed, with holes narrower to be reamed), or all"


def handoff(
    path: AnyLayout,
    to: Annotated[Path | None, file("--to", "the folder to write; it must not be there yet")] = None,
    layout: Layout = None,
    only: Annotated[
        list[str] | None, text("--only", "KIND", "these kinds of files alone; a wrong one lists all")
    ] = None,
    state: Annotated[list[str] | None, option("--state", word("--state", STATES), "STATE", SIZES)] = None,
    paper: PaperWord = "a4",
    stock: Annotated[
        Path | None, file("--stock", "stock file that parts are held against (default: that of the run's project)")
    ] = None,
    results: Runs = RESULTS,
) -> int:
    """A layout as a folder of files for CAD, printer and bench: tables, lists, templates, sheets, shapes.

    Raises
    ------
    Fault
        for a kind that is not known or lacks what it needs, and for a folder that cannot be written
    """
    from optimizer.analysis.written_layout import layout_meant
    from optimizer.commands.console import console
    from optimizer.commands.progress import Working
    from optimizer.handoff.handed import Wanted, states_of
    from optimizer.handoff.handing_over import hand_off, known
    from optimizer.handoff.page import FILE, files_table, state_lines
    from optimizer.handoff.sheets.paper import PAPERS
    from optimizer.records.named_layouts import stock_meant
    from optimizer.views.terminal import show_table

    if to is None:
        raise Fault("name the folder to write with --to FOLDER")
    wanted = Wanted(known(only or ()), states_of(state or ()), PAPERS[paper], stock_meant(path, stock))
    record = layout_meant(path, results, layout)
    with Working("writing the hand-off", things="kinds", quiet=True) as progress:
        made = hand_off(record, to, wanted, progress)
    screen = console()
    show_table(screen, files_table(made))
    lines = [*state_lines(made), *made.left_out]
    for line in (*lines, f"the page to begin with:  {to / FILE}"):
        screen.print(line, soft_wrap=True)
    return 0
