"""What `compare` and `report` do, once parsed."""

import argparse
from pathlib import Path

from optimizer.analysis.comparison import Candidate, ComparisonError, compared
from optimizer.analysis.printed_mass import DENSITY_G_PER_CM3
from optimizer.commands.console import Complain, Files, console, show_and_write
from optimizer.records.files import RecordError, read_record, write_record, write_text
from optimizer.records.layout import LayoutRecord
from optimizer.records.named_layouts import chosen_file, front_of
from optimizer.records.run import RunRecord
from optimizer.views.comparison_page import compare_page
from optimizer.views.comparison_tables import show_comparison
from optimizer.views.report import report_page


def run_compare(options: argparse.Namespace, complain: Complain) -> int:
    """`compare`: layouts against the first of them; exit code 0, or 2 when something is to be mended."""
    density = DENSITY_G_PER_CM3 if options.density is None else options.density
    if not 0.1 <= density <= 25.0:
        return complain("options to mend", [f"--density must lie between 0.1 and 25 g/cm3, but got {density:g}"])
    try:
        candidates = [candidate(path) for path in options.paths]
        record = compared(candidates, density)
    except (RecordError, ComparisonError) as error:
        return complain("cannot compare these", [str(error)])
    files: Files = (
        (options.json, lambda path: write_record(path, record)),
        (options.html, lambda path: write_text(path, compare_page(record, candidates))),
    )
    return show_and_write(lambda screen: show_comparison(screen, record), files, complain)


def candidate(path: Path) -> Candidate:
    """A layout file as it is, or of a run folder the layout nearest in tune (the nearest to feasible, if none is).

    Raises
    ------
    RecordError
        when the path is neither, or the run has no layout yet
    """
    file = chosen_file(path)
    run, front = (str(path), front_of(path)) if path.is_dir() else (None, None)
    return Candidate(read_record(file, LayoutRecord), str(file), run, front)


def run_report(options: argparse.Namespace, complain: Complain) -> int:
    """`report`: one page of a run; exit code 0, or 2 when something is to be mended."""
    path = options.run
    try:
        if not path.is_dir():
            raise RecordError(f"{path} is no run folder")
        front, run = front_of(path), read_record(path / "run.json", RunRecord)
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
