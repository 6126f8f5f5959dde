"""The writer of each kind of files: from what is handed over to a folder that is there, and what its files were held
against."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from optimizer import cautions
from optimizer.handoff.handed import Handed
from optimizer.handoff.lists.list_tables import cuts_table, parts_table, print_words
from optimizer.handoff.lists.tables import csv_text, parameter_tables, parameters_csv
from optimizer.handoff.shapes.shape import in_file_names
from optimizer.handoff.sheets.crossing_levers import crossing_plans
from optimizer.handoff.sheets.drilling import drilled, drilling_plans, drilling_table, shown_columns
from optimizer.handoff.sheets.dxf import dxf_text
from optimizer.handoff.sheets.key_layout import key_plans
from optimizer.handoff.sheets.pdf import pdf_bytes
from optimizer.handoff.sheets.plan import Plan
from optimizer.handoff.sheets.profiles import profiles
from optimizer.handoff.sheets.templates import templates
from optimizer.records.handoff import PieceCheck
from optimizer.views.html import rendered

if TYPE_CHECKING:
    from optimizer.handoff.meshes.mesh_checks import Checked


def write_tables(handed: Handed, folder: Path) -> list[PieceCheck]:
    """Every figure of every state, a file for each table, and all of them in one."""
    for drawing in handed.drawings:
        tables = {name: table for name, table in parameter_tables(drawing, handed.record).items() if table.rows}
        texts = {name: csv_text(table) for name, table in tables.items()} | {"parameters": parameters_csv(tables)}
        for name, text in texts.items():
            (folder / f"{name}-{in_file_names(drawing.sizing.state)}.csv").write_text(text, encoding="utf-8")
    return []


def write_lists(handed: Handed, folder: Path) -> list[PieceCheck]:
    """Parts, cuts, and the page."""
    parts, cuts = parts_table(handed.record, handed.stock), cuts_table(handed.record)
    (folder / "parts.csv").write_text(csv_text(parts), encoding="utf-8")
    (folder / "cuts.csv").write_text(csv_text(cuts), encoding="utf-8")
    title = f"{handed.record.instrument}, layout {handed.record.id}: parts and cuts"
    page = rendered(
        "lists.html", title=title, tables=[parts, cuts], remarks=print_words(handed.record, handed.finished),
        cautions=cautions.MAKING,
    )  # fmt: skip
    (folder / "lists.html").write_text(page, encoding="utf-8")
    return []


def write_profiles(handed: Handed, folder: Path) -> list[PieceCheck]:
    """Half profiles of the pieces, in the sizes of every state."""
    plans = [plan for drawing in handed.drawings for plan in profiles(drawing)]
    return _written(handed, folder, plans, "half profiles")


def write_templates(handed: Handed, folder: Path) -> list[PieceCheck]:
    """Wrap templates of the finished pieces."""
    return _written(handed, folder, templates(handed.finished), "wrap templates")


def write_keys(handed: Handed, folder: Path) -> list[PieceCheck]:
    """The layout of the keys, and levers from tube to tube of a folded body."""
    return _written(handed, folder, [*key_plans(handed.record), *crossing_plans(handed.record)], "key layout")


def write_drilling(handed: Handed, folder: Path) -> list[PieceCheck]:
    """The drilling sheet, as a table and on paper."""
    table = drilling_table(drilled(handed.finished, handed.record, handed.printed, handed.advice))
    (folder / "drilling.csv").write_text(csv_text(table), encoding="utf-8")
    return _written(handed, folder, drilling_plans(shown_columns(table), handed.finished), "drilling sheets", dxf=False)


def _written(handed: Handed, folder: Path, plans: Sequence[Plan], title: str, dxf: bool = True) -> list[PieceCheck]:
    """One PDF of all plans, and a DXF of each; nothing where there are none."""
    if not plans:
        return []
    record = handed.record
    foot = f"{record.instrument}, layout {record.id}: {title}. Holewright"
    (folder / f"{folder.name}.pdf").write_bytes(pdf_bytes(plans, f"{record.instrument}: {title}", foot, handed.paper))
    for plan in plans if dxf else ():
        (folder / f"{plan.name}.dxf").write_text(dxf_text(plan), encoding="utf-8")
    return []


def write_meshes(handed: Handed, folder: Path) -> list[PieceCheck]:
    """The pieces for the slicer."""
    from optimizer.handoff.meshes.slicer_files import slicer_files

    found = [file for drawing in handed.drawings for file in slicer_files(drawing, handed.record.printing)]
    for file in found:
        (folder / file.name).write_bytes(file.content)
    return [PieceCheck(file=file.name, figures=_mesh_figures(file.checked)) for file in found]


def write_steps(handed: Handed, folder: Path) -> list[PieceCheck]:
    """The pieces for CAD: finished, and in every state that is wanted."""
    from optimizer.handoff.step.step_files import write_step_files

    drawings = {each.sizing.state: each for each in (handed.finished, *handed.drawings)}
    found = write_step_files(handed.record, list(drawings.values()), folder)
    return [PieceCheck(file=check.file, figures=check.figures) for check in found]


def _mesh_figures(checked: "Checked") -> dict[str, float | int | bool | str]:
    """What a mesh came to; its volume against arithmetic where there is any."""
    surface = checked.surface
    figures: dict[str, float | int | bool | str] = {
        "closed": surface.closed,
        "solids": surface.bodies,
        "open_holes": -surface.euler // 2,
        "holes_wanted": len(checked.piece.holes),
        "volume_mm3": round(surface.volume_mm3, 1),
        "box_mm": " x ".join(f"{side:.1f}" for side in surface.box_mm),
        "thinnest_wall_mm": round(checked.thinnest.mm, 3),
        "triangles": checked.triangles,
    }
    return figures if checked.off is None else figures | {"volume_off": float(f"{checked.off:.2e}")}
