"""What `reach` and `gauge` do, once parsed."""

import argparse
import sys
from pathlib import Path

from optimizer.analysis.hand_fit import HandFit, fit, just_within, saved_fit
from optimizer.analysis.relief_files import kept_reliefs, reliefs_file
from optimizer.commands.console import Complain, console
from optimizer.commands.progress import looked_for, option_problems
from optimizer.project.hand import Hand
from optimizer.project.included import IncludedError, read_included
from optimizer.project.loading import ProjectError, parse_project
from optimizer.records.files import RecordError, read_record, write_record, write_text
from optimizer.records.fits import ReliefsRecord
from optimizer.records.layout import LayoutRecord, saved_numbers
from optimizer.records.named_layouts import layout_files, project_of_run, run_of
from optimizer.records.run import RunRecord
from optimizer.solving.processes import WorkLostError
from optimizer.views.drawings.gauge import gauge_svg
from optimizer.views.drawings.hands import hands_svg
from optimizer.views.fit_tables import show_ways_out
from optimizer.views.layout_screen import show_fit
from optimizer.words import counted


def run_reach(options: argparse.Namespace, complain: Complain) -> int:
    """`reach`: one layout's reach as a table and a drawing; exit code 0 when it fits, 1 when not, 2 to mend."""
    problems = option_problems(options)
    if problems:
        return complain("options to mend", problems)
    try:
        hand = _hand(options)
        layouts = {path: read_record(path, LayoutRecord) for path in layout_files(options.path, options.layout)}
        fits = {path: fit(record, hand) if hand else saved_fit(record) for path, record in layouts.items()}
        chosen = min(fits, key=lambda path: (len(fits[path].troubles), fits[path].beyond_mm, fits[path].strain_percent))
        drawing = options.svg or _drawing(options, layouts[chosen].id)
        write_text(drawing, hands_svg(layouts[chosen], fits[chosen], hand))
    except IncludedError as error:
        return complain("hand file to mend", error.problems)
    except ProjectError as error:
        return complain("cannot show this", error.problems)
    except (RecordError, OSError) as error:
        return complain("cannot show this", [str(error)])
    _tell(options, layouts[chosen], fits, fits[chosen])
    console().print(f"drawing: {drawing}", soft_wrap=True)
    try:
        _lead_out(options, layouts[chosen], fits[chosen])
    except (ProjectError, IncludedError, RecordError, OSError, WorkLostError) as error:
        return complain("cannot look for ways out", str(error).splitlines())
    return 1 if fits[chosen].troubles else 0


def _lead_out(options: argparse.Namespace, record: LayoutRecord, found: HandFit) -> None:
    """Ways out where a limit is broken or only just kept: those kept beside the layout; else looked for, where a limit
    is broken; else how to look."""
    if not found.troubles and not any(just_within(pair) for pair in found.reach):
        return
    folder = run_of(options.path)
    if not (folder / "run.json").exists():
        hand = f" --hand {options.hand}" if options.hand else ""
        console().print(f"ways out, with their cost in cents:  holewright relieve PROJECT{hand}", soft_wrap=True)
        return
    loaded, file = project_of_run(folder, options.hand), reliefs_file(folder, options.hand)
    ways = kept_reliefs(file, loaded.project, 60.0 * options.minutes)
    if ways is None and found.troubles and not options.quick:
        ways = looked_for(loaded, saved_numbers(record, loaded.project), options)
        _keep(file, ways)
    if ways is not None:
        show_ways_out(console(), ways)
    more = " ".join([f"holewright relieve {folder}", *([f"--hand {options.hand}"] if options.hand else [])])
    console().print(f"{'all of them' if ways else 'ways out, with their cost in cents'}:  {more}", soft_wrap=True)


def _keep(file: Path, ways: ReliefsRecord) -> None:
    """Keep ways out for the next time; where they cannot be, they are shown all the same."""
    try:
        write_record(file, ways)
    except OSError as error:
        print(f"{file} cannot be written, so the ways out are not kept: {error.strerror or error}", file=sys.stderr)


def _tell(options: argparse.Namespace, record: LayoutRecord, fits: dict[Path, HandFit], found: HandFit) -> None:
    screen = console()
    screen.print(f"{record.instrument}, layout {record.id}", style="bold")
    if len(fits) > 1:
        good = sum(not each.troubles for each in fits.values())
        screen.print(f"{good} of {counted(len(fits), 'layout')} fit this hand; shown is the one that asks least of it")
    show_fit(screen, found)
    if found.troubles and options.hand:
        screen.print(f"layouts for this hand:  holewright search PROJECT --hand {options.hand}", soft_wrap=True)


def _hand(options: argparse.Namespace) -> Hand | None:
    """The hand named, else that of the run's project, else none."""
    if options.hand is not None:
        return read_included(options.hand, Hand, "hand").model
    folder = run_of(options.path)
    if not (folder / "run.json").exists():
        return None
    run = read_record(folder / "run.json", RunRecord)
    return parse_project(run.project_text, run.project_file).project.hand


def _drawing(options: argparse.Namespace, layout_id: str) -> Path:
    """Where the drawing goes: into the run folder, or beside the layout."""
    folder: Path = options.path if options.path.is_dir() else options.path.parent
    return folder / ("-".join(["reach", layout_id, *([options.hand.stem] if options.hand else [])]) + ".svg")


def run_gauge(options: argparse.Namespace, complain: Complain) -> int:
    """`gauge`: write the printable sheet to measure a player with."""
    try:
        hand = read_included(options.hand, Hand, "hand").model if options.hand else Hand()
        write_text(options.out, gauge_svg(hand))
    except IncludedError as error:
        return complain("hand file to mend", error.problems)
    except OSError as error:
        return complain("cannot write the sheet", [f"{options.out}: {error.strerror or error}"])
    screen = console()
    screen.print(
        f"{options.out}: print on A4 at 100 %, without fitting to the page; then check its rulers", soft_wrap=True
    )
    return 0
