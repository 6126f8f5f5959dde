"""What `compare` and `report` do, once parsed."""

import argparse
from pathlib import Path

from optimizer.commands import Complain, console
from optimizer.compare_page import compare_page
from optimizer.comparison import Candidate, ComparisonError, compared
from optimizer.printed_mass import DENSITY_G_PER_CM3
from optimizer.records import LayoutRecord, RecordError, read_record, write_record, write_text
from optimizer.report import report_page
from optimizer.run_records import FrontRecord, RunRecord
from optimizer.show_comparison import show_comparison


def run_compare(options: argparse.Namespace, complain: Complain) -> int:
    """`compare`: layouts against the first of them; exit code 0, or 2 when something is to be mended."""
    density = DENSITY_G_PER_CM3 if options.density is None else options.density
    if not 0.1 <= density <= 25.0:
        return complain("options to mend", [f"--density must lie between 0.1 and 25 g/cm3, but got {density:g}"])
    try:
        candidates = [candidate(path) for path in options.paths]
        record = compared(candidates, density)
        if options.json:
            write_record(options.json, record)
        if options.html:
            write_text(options.html, compare_page(record, candidates))
    except (RecordError, ComparisonError) as error:
        return complain("cannot compare these", [str(error)])
    except OSError as error:
        return complain("the comparison could not be written", [str(error)])
    screen = console()
    show_comparison(screen, record)
    for path in (options.json, options.html):
        if path:
            screen.print(f"written: {path}", soft_wrap=True)
    return 0


def candidate(path: Path) -> Candidate:
    """A layout file as it is, or of a run folder the layout nearest in tune (the nearest to feasible, if none is).

    Raises
    ------
    RecordError
        when the path is neither, or the run has no layout yet
    """
    if not path.is_dir():
        return Candidate(read_record(path, LayoutRecord), str(path))
    front = _front(path)
    if not front.layouts:
        raise RecordError(f"{path} has no layout yet: it ended before its first one was done")
    best = front.best_tuned
    return Candidate(read_record(path / best.file, LayoutRecord), str(path / best.file), str(path), front)


def _front(path: Path) -> FrontRecord:
    if not (path / "pareto.json").exists():
        raise RecordError(f"{path} is no run folder: there is no pareto.json in it")
    return read_record(path / "pareto.json", FrontRecord)


def run_report(options: argparse.Namespace, complain: Complain) -> int:
    """`report`: one page of a run; exit code 0, or 2 when something is to be mended."""
    path = options.run
    try:
        if not path.is_dir():
            raise RecordError(f"{path} is no run folder")
        front, run = _front(path), read_record(path / "run.json", RunRecord)
        layouts = [read_record(path / entry.file, LayoutRecord) for entry in front.layouts]
    except RecordError as error:
        return complain("cannot report on this", [str(error)])
    out = options.out or path / "report.html"
    try:
        write_text(out, report_page(run, front, layouts))
    except OSError as error:
        return complain("the report could not be written", [f"{out}: {error.strerror or error}"])
    console().print(f"written: {out}", soft_wrap=True)
    return 0
