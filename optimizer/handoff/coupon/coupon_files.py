"""The files of a test coupon: its pieces for the slicer and for CAD, a drawing that says what is where, a table to fill
in."""

from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from optimizer.handoff.coupon.coupon_drawing import coupon_plans
from optimizer.handoff.coupon.coupon_shape import Coupon, Part, coupon_of
from optimizer.handoff.folder import whole_folder
from optimizer.handoff.meshes.slicer_files import slicer_files
from optimizer.handoff.sheets.paper import A4, Paper
from optimizer.handoff.sheets.pdf import pdf_bytes
from optimizer.handoff.step.kernel_process import kernel_lacking
from optimizer.handoff.step.step_files import write_piece_files
from optimizer.project.model import Project
from optimizer.prototype.coupon_readings import COLUMNS, TRIED
from optimizer.prototype.coupon_trials import BESIDE, CORD
from optimizer.prototype.measured_table import table_text
from optimizer.solving.pieces import printing_of

DRAWING, TABLE = "coupon.pdf", "readings.csv"
PINS_BELOW_MM = 5.0
"""Holes narrower than that are gauged by pins: jaws do not go in, or read a chord; common practice, no source."""

TWICE = 2


class Written(NamedTuple):
    """A coupon's folder: names of its files, and what was left out, a sentence each."""

    files: list[str]
    left_out: list[str]


def write_coupon(project: Project, folder: Path, prints: int, paper: Paper = A4) -> Written:
    """Write a coupon as a folder, whole or not at all.

    Parameters
    ----------
    project : whose printer is tested
    folder : that is not there yet
    prints : how many the table has lines for
    paper : of the drawing

    Raises
    ------
    Fault
        where no coupon can be drawn, where a piece must not be handed over, and where the folder cannot be written
    """
    coupon, printing = coupon_of(project), printing_of(project.printer)
    files = {file.name: file.content for file in slicer_files(coupon.drawing, printing)}
    called = coupon.drawing.instrument
    files[DRAWING] = pdf_bytes(coupon_plans(coupon, project.printer), called, f"{called}. Holewright", paper)
    files[TABLE] = coupon_table(coupon, prints).encode()
    lacking = kernel_lacking()
    with whole_folder(folder) as place:
        for name, content in files.items():
            (place / name).write_bytes(content)
        steps = [] if lacking else write_piece_files(coupon.drawing, printing, place)
    return Written([*files, *(check.file for check in steps)], [lacking] if lacking else [])


def coupon_table(coupon: Coupon, prints: int) -> str:
    """A table of readings to fill in.

    Parameters
    ----------
    coupon : of which
    prints : how many there are lines for
    """
    headers = [each.header for each in COLUMNS]
    remarks = (
        f"{coupon.drawing.instrument}: fill in what was read, in mm, cold, the day after; cut the lines that were not",
        f"{CORD} = {coupon.cord_mm:g}",
        f"{BESIDE} = {coupon.beside_mm:g}",
        *(f"{each.header}: {each.told}" + (f" ({', '.join(each.words)})" if each.words else "") for each in COLUMNS),
    )
    rows = [row for number in range(1, prints + 1) for part in coupon.parts for row in _rows(part, str(number))]
    return table_text(headers, rows, remarks)


def _rows(part: Part, name: str) -> Iterator[list[str]]:
    """Lines for a thing, read twice: its tool is the usual one, to be changed."""
    tools = ["caliper"] * TWICE
    if part.what in TRIED:
        tools = [""]
    elif part.what == "hole" and part.drawn_mm < PINS_BELOW_MM:
        tools = ["go", "no-go"]
    for tool in tools:
        filled = {"what": part.what, "where": part.where, "drawn_mm": f"{part.drawn_mm:g}", "print": name, "tool": tool}
        yield [filled.get(column.header, "") for column in COLUMNS]
