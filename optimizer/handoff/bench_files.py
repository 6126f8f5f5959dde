"""Writers of the sheets for the bench: profiles, wrap templates, drilling sheets, key layouts."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from optimizer.handoff.drilling import drilled, drilling_plans, drilling_table, shown_columns
from optimizer.handoff.dxf import dxf_text
from optimizer.handoff.key_layout import key_layout
from optimizer.handoff.pdf import pdf_bytes
from optimizer.handoff.plan import Plan
from optimizer.handoff.profiles import profiles
from optimizer.handoff.tables import csv_text
from optimizer.handoff.templates import templates
from optimizer.records.handoff import PieceCheck

if TYPE_CHECKING:
    from optimizer.handoff.kinds import Handed


def write_profiles(handed: "Handed", folder: Path) -> list[PieceCheck]:
    """Half profiles of the pieces, in the sizes of the hand-off's state."""
    return _written(handed, folder, profiles(handed.drawing), "half profiles")


def write_templates(handed: "Handed", folder: Path) -> list[PieceCheck]:
    """Wrap templates of the finished pieces."""
    return _written(handed, folder, templates(handed.finished), "wrap templates")


def write_keys(handed: "Handed", folder: Path) -> list[PieceCheck]:
    """The layout of the keys."""
    return _written(handed, folder, [key_layout(handed.record)], "key layout")


def write_drilling(handed: "Handed", folder: Path) -> list[PieceCheck]:
    """The drilling sheet, as a table and on paper."""
    table = drilling_table(drilled(handed.finished, handed.record, handed.printed, handed.advice))
    (folder / "drilling.csv").write_text(csv_text(table), encoding="utf-8")
    return _written(handed, folder, drilling_plans(shown_columns(table), handed.finished), "drilling sheets", dxf=False)


def _written(handed: "Handed", folder: Path, plans: Sequence[Plan], title: str, dxf: bool = True) -> list[PieceCheck]:
    """One PDF of all plans, and a DXF of each; nothing where there are none."""
    if not plans:
        return []
    record = handed.record
    foot = f"{record.instrument}, layout {record.id}: {title}. Holewright"
    (folder / f"{folder.name}.pdf").write_bytes(pdf_bytes(plans, f"{record.instrument}: {title}", foot))
    for plan in plans if dxf else ():
        (folder / f"{plan.name}.dxf").write_text(dxf_text(plan), encoding="utf-8")
    return []
