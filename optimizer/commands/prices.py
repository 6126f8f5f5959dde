"""What `prices` does, once parsed."""

import argparse

from optimizer.analysis.prices import prices_of
from optimizer.commands.console import Complain, Files, show_and_write
from optimizer.commands.progress import FitProgress, option_problems
from optimizer.project.loading import ProjectError, count_line
from optimizer.records.files import RecordError, write_record
from optimizer.records.named_layouts import chosen_layout, project_of_run, run_of
from optimizer.views.price_tables import show_prices


def run_prices(options: argparse.Namespace, complain: Complain) -> int:
    """`prices`: what each limit of a layout costs; exit code 0, or 2 for something to mend."""
    problems = option_problems(options)
    if problems:
        return complain("options to mend", problems)
    try:
        record = chosen_layout(options.path, options.layout)
        loaded = project_of_run(run_of(options.path), None)
    except ProjectError as error:
        return complain(count_line(error.problems, options.path), error.problems)
    except (RecordError, OSError) as error:
        return complain("cannot price this", [str(error)])
    if not record.feasible:
        return complain(
            "cannot price this", [f"layout {record.id} does not keep its limits, so they have no price yet"]
        )
    seconds = 60.0 * options.minutes
    found = prices_of(loaded, record, seconds, FitProgress("limits", seconds))
    files: Files = ((options.json, lambda path: write_record(path, found)),)
    return show_and_write(lambda screen: show_prices(screen, found), files, complain)
