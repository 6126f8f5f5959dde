"""`reach` and `gauge`: how a layout lies under the hands, and how to measure them."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from optimizer.commands.options import RESULTS, AnyLayout, Hand, Minutes, Runs, Workers, file, flag, text
from optimizer.project.faults import headed, writing
from optimizer.words import typed

if TYPE_CHECKING:
    from optimizer.analysis.easiest import Easiest
    from optimizer.records.fits import ReliefsRecord

SHEET = Path("gauge.svg")


def reach(
    path: AnyLayout,
    layout: Annotated[
        str | None, text("--layout", "ID", "one layout of the run, by its id (default: the one that asks least)")
    ] = None,
    svg: Annotated[Path | None, file("--svg", "where the drawing goes (default: into the run folder)")] = None,
    quick: Annotated[bool, flag("--quick", "leave out the look for ways out of what is out of reach")] = False,
    hand: Hand = None,
    minutes: Minutes = 1.5,
    workers: Workers = None,
    results: Runs = RESULTS,
) -> int:
    """How a layout lies under the hands: each pair, and a drawing."""
    from optimizer.analysis.easiest import easiest, hand_for
    from optimizer.analysis.hand_fit import just_within
    from optimizer.commands.console import console
    from optimizer.commands.progress import Working
    from optimizer.records.files import write_text
    from optimizer.views.drawings.fingers_on_body import hands_svg

    player = hand_for(path, hand)
    with Working("laying layouts under the hand"):
        found = easiest(path, results, layout, player)
    drawing = svg or _drawing(path, found.record.id, hand)
    with writing(drawing):
        write_text(drawing, hands_svg(found.record, found.fit, player))
    _tell(found, hand)
    console().print(f"drawing: {drawing}", soft_wrap=True)
    if found.fit.troubles or any(just_within(pair) for pair in found.fit.reach):
        with headed("cannot look for ways out"):
            _lead_out(path, found, hand, not quick, 60.0 * minutes, workers)
    return 1 if found.fit.troubles else 0


def _lead_out(path: Path, found: "Easiest", hand: Path | None, look: bool, seconds: float, workers: int | None) -> None:
    """Ways out where a limit is broken or only just kept: those kept beside the layout; else looked for, where a limit
    is broken; else how to look."""
    from optimizer.analysis.relief_files import kept_reliefs, reliefs_file
    from optimizer.analysis.reliefs import looked_for
    from optimizer.commands.console import console
    from optimizer.commands.progress import Working
    from optimizer.records.layout import saved_numbers
    from optimizer.records.named_layouts import is_project, project_of_run, run_of
    from optimizer.views.fit_tables import show_ways_out

    folder, named = run_of(path), f" --hand {typed(hand)}" if hand else ""
    project = path if is_project(path) else "PROJECT"
    if is_project(path) or not (folder / "run.json").exists():
        more = f"holewright relieve {typed(project)}{named}"
        console().print(f"ways out, with their cost in cents:  {more}", soft_wrap=True)
        return
    loaded, kept = project_of_run(folder, hand), reliefs_file(folder, hand)
    ways = kept_reliefs(kept, loaded.project, seconds)
    if ways is None and found.fit.troubles and look:
        numbers = saved_numbers(found.record, loaded.project)
        with Working("looking for ways out", seconds, "projects solved") as told:
            ways = looked_for(loaded, numbers, seconds, workers, told)
        _keep(kept, ways)
    if ways is not None:
        show_ways_out(console(), ways)
    more = f"holewright relieve {typed(folder)}{named}"
    console().print(f"{'all of them' if ways else 'ways out, with their cost in cents'}:  {more}", soft_wrap=True)


def _keep(file: Path, ways: "ReliefsRecord") -> None:
    """Keep ways out for the next time; where they cannot be, they are shown all the same."""
    from optimizer.records.files import write_record

    try:
        write_record(file, ways)
    except OSError as error:
        print(f"{file} cannot be written, so the ways out are not kept: {error.strerror or error}", file=sys.stderr)


def _tell(found: "Easiest", hand: Path | None) -> None:
    from optimizer.commands.console import console
    from optimizer.views.layout_screen import show_fit
    from optimizer.words import counted

    screen = console()
    screen.print(f"{found.record.instrument}, layout {found.record.id}", style="bold")
    if found.of > 1:
        of = counted(found.of, "layout")
        screen.print(f"{found.playable} of {of} fit this hand; shown is the one that asks least of it")
    show_fit(screen, found.fit)
    if found.fit.troubles and hand:
        screen.print(f"layouts for this hand:  holewright search PROJECT --hand {typed(hand)}", soft_wrap=True)


def _drawing(path: Path, layout_id: str, hand: Path | None) -> Path:
    """Where the drawing goes: into the run folder, or beside the layout or the project."""
    from optimizer.records.named_layouts import is_project

    folder = path if path.is_dir() else path.parent
    return folder / (
        "-".join(["reach", path.stem if is_project(path) else layout_id, *([hand.stem] if hand else [])]) + ".svg"
    )


def gauge(out: Annotated[Path, file("--out", "the sheet")] = SHEET, hand: Hand = None) -> int:
    """Write a sheet to print and measure a player's hands with."""
    from optimizer.commands.console import console
    from optimizer.project.hand import Hand
    from optimizer.project.hand import Hand as Player
    from optimizer.project.included import read_included
    from optimizer.records.files import write_text
    from optimizer.views.drawings.gauge import gauge_svg

    player = read_included(hand, Hand, "hand").model if hand else Player()
    with writing(out, "cannot write the sheet"):
        write_text(out, gauge_svg(player))
    console().print(f"{out}: print on A4 at 100 %, without fitting to the page; then check its rulers", soft_wrap=True)
    return 0
