"""What `extend` does, once parsed."""

import argparse
from pathlib import Path

from optimizer.analysis.extension import FILES, Found, extended
from optimizer.analysis.printed_pieces import LockError
from optimizer.commands.console import Complain, console
from optimizer.commands.progress import FitProgress, option_problems
from optimizer.project.loading import ProjectError, count_line, load_project
from optimizer.records.files import RecordError, write_record, write_text
from optimizer.solving.processes import WorkLostError
from optimizer.views.extension_page import extension_page, extension_picture
from optimizer.views.extension_tables import show_extension


def run_extend(options: argparse.Namespace, complain: Complain) -> int:
    """`extend`: exit code 0 when some way meets everything, 1 when none does, 2 for something to mend."""
    problems = _option_problems(options)
    if problems:
        return complain("options to mend", problems)
    out = options.out or Path("results") / f"{options.extended.stem}-extension"
    try:
        loaded = load_project(options.extended)
        out.mkdir(parents=True, exist_ok=True)
        seconds = 60.0 * options.minutes
        found = extended(
            options.present, loaded, keep=options.keep, redrill=options.redrill, seconds=seconds,
            workers=options.workers, told=FitProgress("steps", seconds),
        )  # fmt: skip
    except ProjectError as error:
        return complain(count_line(error.problems, error.source), error.problems)
    except LockError as error:
        return complain(count_line(error.problems, options.present), error.problems)
    except (RecordError, WorkLostError) as error:
        return complain("the instrument could not be extended", [str(error)])
    except OSError as error:
        return complain("cannot write", [f"{out}: {error.strerror or error}"])
    show_extension(console(), found.record)
    try:
        _write(out, found)
    except OSError as error:
        return complain("cannot write", [f"{out}: {error.strerror or error}"])
    console().print(f"written: {out}/extension.html (a page), .svg (a picture) and .json", soft_wrap=True)
    console().print(f"beside them: {', '.join(['present.json', *(way.fit.file for way in found.record.ways)])}")
    return 0 if any(way.feasible for way in found.record.ways) else 1


def _option_problems(options: argparse.Namespace) -> list[str]:
    problems = option_problems(options)
    if not 0 <= options.redrill <= 100:
        problems.append(f"--redrill must be between 0 and 100, but got {options.redrill}")
    if options.keep is not None and options.keep < 1:
        problems.append(f"--keep must be at least 1, but got {options.keep}")
    return problems


def _write(out: Path, found: Found) -> None:
    """Everything into the folder: the record, the layouts, the page and the picture."""
    record, present, ways = found.record, found.present, found.ways
    write_record(out / "present.json", present)
    for way, layout in ways.items():
        write_record(out / FILES[way], layout)
    write_record(out / "extension.json", record)
    write_text(out / "extension.html", extension_page(record, present, ways))
    write_text(out / "extension.svg", extension_picture(record, present, ways))
