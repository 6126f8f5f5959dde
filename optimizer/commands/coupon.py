"""`coupon` and `printer`: a test coupon to print, and what it says of the printer that made it."""

from pathlib import Path
from typing import Annotated

from optimizer.commands.options import Json, PaperWord, ProjectFile, file, given, measure, text
from optimizer.project.allowed_ranges import Bounds
from optimizer.project.faults import Fault

PRINTS = Bounds(least=1, most=9)


def coupon(
    path: ProjectFile,
    to: Annotated[Path | None, file("--to", "the folder to write; it must not be there yet")] = None,
    prints: Annotated[int, measure("--prints", int, PRINTS, "how many prints the table has lines for")] = 3,
    paper: PaperWord = "a4",
) -> int:
    """A test coupon of a project's printer: pieces to print, a drawing of what is where, a table to fill in.

    Raises
    ------
    Fault
        where no folder is named, and where no coupon can be drawn
    """
    from optimizer.commands.console import console
    from optimizer.handoff.coupon.coupon_files import write_coupon
    from optimizer.handoff.sheets.paper import PAPERS
    from optimizer.project.loading import load_project

    if to is None:
        raise Fault("name the folder to write with --to FOLDER")
    made = write_coupon(load_project(path).project, to, prints, PAPERS[paper])
    for line in (f"written to {to}: {', '.join(made.files)}", *made.left_out):
        console().print(line, soft_wrap=True)
    return 0


def printer(
    readings: Annotated[Path, given("READINGS", "table of coupon readings (.csv)")],
    to: Annotated[Path | None, file("--to", "write the printer file there, for `printer = ...` of a project")] = None,
    like: Annotated[
        Path | None, file("--like", "printer file whose bed, nozzle and walls it has (default: a common one)")
    ] = None,
    name: Annotated[str | None, text("--name", "NAME", "of the printer (default: as --like has it)")] = None,
    json: Json = None,
) -> int:
    """A printer's offsets, scatter and shrinkage by readings of its test coupon, as a printer file."""
    from optimizer.commands.console import console, write_if_asked
    from optimizer.project.included import read_included
    from optimizer.project.printer import Printer
    from optimizer.prototype.coupon_figures import coupon_record
    from optimizer.prototype.coupon_readings import read_coupons
    from optimizer.prototype.printer_file import learned_printer, printer_toml
    from optimizer.records.files import write_record, write_text
    from optimizer.views.coupon_tables import coupon_table
    from optimizer.views.terminal import show_table

    base = Printer() if like is None else read_included(like, Printer, "printer").model
    record = coupon_record(read_coupons(readings), readings.name)
    learned, remarks = learned_printer(record, base, name)
    show_table(console(), coupon_table(record, remarks))
    write_if_asked(to, lambda place: write_text(place, printer_toml(learned, record)))
    write_if_asked(json, lambda place: write_record(place, record))
    return 0
