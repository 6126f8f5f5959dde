"""`present`: an instrument that is made, looked at as it is."""

from pathlib import Path
from typing import Annotated

from optimizer.commands.options import (
    RESULTS,
    Hand,
    NoReport,
    ProjectFile,
    Reader,
    Results,
    Wrong,
    file,
    measure,
    option,
)
from optimizer.commands.report import finish
from optimizer.project.allowed_ranges import Bounds


class Places(tuple[float, ...]):
    """Places along the bore [mm], one value of an option: a plain tuple would count as several."""


def places(name: str) -> Reader:
    """Reads places along the bore, with commas between."""

    def read(text: str) -> Places | Wrong:
        try:
            found = Places(float(part) for part in text.split(","))
        except ValueError:
            found = Places()
        if not found or not all(0.0 < place < 10_000.0 for place in found):
            return Wrong(f"{name} must be millimetres with commas between, such as 310,560, but got {text!r}")
        return found

    return read


def present(
    project: ProjectFile,
    holes: Annotated[Path | None, file("--holes", "table of its holes, .csv or .toml (default: [present])")] = None,
    bore: Annotated[Path | None, file("--bore", "table of its bore, .csv (default: [present], or [bore])")] = None,
    reed_cm3: Annotated[
        float | None,
        measure("--reed-cm3", float, Bounds(least=0, most=100), "what its reed holds (default: [present])"),
    ] = None,
    end_mm: Annotated[
        float | None, measure("--end-mm", float, Bounds(above=0, most=10_000), "where its bell ends, without a --bore")
    ] = None,
    joints: Annotated[
        Places | None,
        option("--joints", places("--joints"), "LIST", "middles of its joints, such as 310,560"),
    ] = None,
    gauged: Annotated[Path | None, file("--gauged", "gauge readings (.csv) in place of sizes in the tables")] = None,
    hand: Hand = None,
    results: Results = RESULTS,
    no_report: NoReport = False,
) -> int:
    """Show an instrument that is made, by the table of its holes, without a search.

    Its notes, the limits that it breaks and by how far, and a run folder with it that the other commands take.
    """
    from optimizer.commands.console import console
    from optimizer.prototype.present_layout import present_run
    from optimizer.prototype.present_project import Told, present_project
    from optimizer.records.layout import LayoutRecord
    from optimizer.records.layout_ids import PRESENT
    from optimizer.records.named_layouts import chosen_layout
    from optimizer.views.layout_screen import show_layout

    found = present_project(project, Told(holes, bore, reed_cm3, end_mm, joints or (), gauged), hand)
    folder = present_run(found, results).path
    record: LayoutRecord = chosen_layout(folder, PRESENT)
    screen = console()
    show_layout(screen, record)
    for line in (*found.remarks, *finish(folder, not no_report), f"everything:       {folder}"):
        screen.print(line, soft_wrap=True)
    return 0
