"""Single ways out of a reach that binds, kept beside the run or project they were worked out for."""

from collections.abc import Callable
from pathlib import Path

from optimizer.project.marks import mark_of
from optimizer.project.model import Project
from optimizer.project.source_mark import SOURCE_MARK
from optimizer.records.files import RecordError, read_record
from optimizer.records.fits import ReliefsRecord


def reliefs_file(path: Path, hand: Path | None, results: Path = Path("results")) -> Path:
    """Where ways out are kept: in the run folder, or among the results for a project file; by the hand named."""
    name = "-".join(["reliefs", *([hand.stem] if hand else [])]) + ".json"
    return path / name if path.is_dir() else results / f"{path.stem}-{name}"


def kept_reliefs(
    file: Path, project: Project, seconds: float, bytes_of: Callable[[Path], bytes] = Path.read_bytes
) -> ReliefsRecord | None:
    """The ways out in a file, where there is one, of this very project, hand and program, of all kinds, and either all
    tried or given as much time as there is now. bytes_of : as for `read_record`."""
    try:
        record = read_record(file, ReliefsRecord, bytes_of)
    except RecordError:
        return None
    fits = record.made_for == mark_of(project, SOURCE_MARK) and not record.kinds
    return record if fits and (not record.untried or record.seconds >= seconds) else None
