"""A layout by what a measured instrument taught, as `predict` and `tolerance` take it."""

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from optimizer.records.layout import LayoutRecord


def taught(record: "LayoutRecord", learned: Path | None) -> tuple["LayoutRecord", list[str]]:
    """The layout by what a file teaches, and what that says of it; as it is where no file is named."""
    from optimizer.analysis.prediction import as_taught
    from optimizer.project.included import read_included
    from optimizer.project.learned import Learned
    from optimizer.views.doubts import taught_lines

    if learned is None:
        return record, []
    found = as_taught(record, read_included(learned, Learned, "learned").model)
    return found, taught_lines(record, found)
