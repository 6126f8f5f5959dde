"""JSON in and out: what every record of a run folder is made of, and the only reader and writer of records.

Every file names its schema and version; one of the major version before is brought up to this one as it is read, one of
any other is refused. Files are written whole and moved into place, so a killed run leaves none half done.
"""

import json
import os
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol, Self, TypeVar

from pydantic import ConfigDict, ValidationError

from optimizer.project.built_late import BuiltLate
from optimizer.project.faults import Fault
from optimizer.words import cut

SCHEMA_VERSION = "2.2.0"
OLDER = "1"
"""The major version whose files are brought up to this one as they are read."""
SCHEMA_DIALECT = "https://json-schema.org/draft/2020-12/schema"


class Record(BuiltLate):
    """Base of everything written to a run folder. Unknown keys are passed over: a later minor version may add some."""

    model_config = ConfigDict(extra="ignore", frozen=True, allow_inf_nan=False)

    def brought_up(self, beside: "Beside") -> Self:
        """This record of the major version before as one of this version.

        Parameters
        ----------
        beside : reads what lies beside its file
        """
        return self


class RecordError(Fault):
    """A record that cannot be read; the message says which file and why."""


LARGEST = 1e15
"""No number of a record comes near it; what is beyond would overflow somewhere later."""

DEEPEST = 100
"""So many tables and lists within each other no record has."""

OPEN_SECONDS = 3.0 if os.name == "nt" else 0.0
"""How long a reader may have a file open that is to be moved over or removed, where that is in the way: Windows."""

AnyRecord = TypeVar("AnyRecord", bound=Record)


class Beside(Protocol):
    """Reads another record of the same folder; raises RecordError as `read_record` does."""

    def __call__(self, file: str, kind: type[AnyRecord]) -> AnyRecord:
        """The record in a file, named from the folder."""


def make_private(folder: Path, exist_ok: bool = False) -> None:
    """Make a folder for its owner alone, as a project's hand is personal; one that is there keeps what it has.

    Raises
    ------
    FileExistsError
        where there is one, unless that is well
    OSError
        where it cannot be made
    """
    try:
        folder.mkdir(mode=0o700, exist_ok=exist_ok)
    except FileNotFoundError:
        folder.parent.mkdir(parents=True, exist_ok=True)
        folder.mkdir(mode=0o700, exist_ok=exist_ok)


def write_text(path: Path, text: str, private: bool = False) -> None:
    """Write a text whole: beside its place first, then moved there; a private one is its owner's alone."""
    write_bytes(path, text.encode(), private)


def write_bytes(path: Path, content: bytes, private: bool = False) -> None:
    """Write a file whole, see `write_text`."""
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(path.name + ".part")
    try:
        with part.open("wb") as stream:
            if private:
                part.chmod(0o600)
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        once_free(lambda: part.replace(path))
    except BaseException:
        part.unlink(missing_ok=True)
        raise


def once_free(change: Callable[[], object]) -> None:
    """Move or remove a file; where a system refuses that of one which another has open, as soon as it is closed.

    Raises
    ------
    PermissionError
        when it is still refused after `OPEN_SECONDS`
    OSError
        that the change raises
    """
    until = time.monotonic() + OPEN_SECONDS
    while True:
        try:
            change()
            return
        except PermissionError:
            if time.monotonic() >= until:
                raise
        time.sleep(0.02)


def write_record(path: Path, record: Record, private: bool = False) -> None:
    """Write a record as JSON; a private one is its owner's alone."""
    write_text(path, record.model_dump_json(indent=1) + "\n", private)


def read_record(path: Path, kind: type[AnyRecord], bytes_of: Callable[[Path], bytes] = Path.read_bytes) -> AnyRecord:
    """Read a record.

    Parameters
    ----------
    path : of the file
    kind : what it must hold
    bytes_of : how a file is read, for those who open files in a way of their own

    Raises
    ------
    RecordError
        when the file is missing, not JSON, holds what no record can, is of another kind or major version, or does not
        fit its schema or itself
    """
    try:
        data = json.loads(bytes_of(path).decode("utf-8"))
        _sound(data)
    except FileNotFoundError:
        raise RecordError(f"there is no file {path}") from None
    except IsADirectoryError:
        raise RecordError(f"{path} is a folder; name a file in it") from None
    except (OSError, ValueError, RecursionError) as error:
        raise RecordError(f"{path} cannot be read as JSON: {error}") from None
    wanted = kind.model_fields["schema_name"].default
    found = data.get("schema_name") if isinstance(data, dict) else None
    if found != wanted:
        raise RecordError(f"{path} is not a {wanted} file: its schema_name is {cut(repr(found))}")
    major = _major(path, data)
    try:
        record = kind.model_validate(data)
    except ValidationError as error:
        first = error.errors()[0]
        where = cut(".".join(str(part) for part in first["loc"])) or "the whole"
        wrong = first["msg"].removeprefix("Value error, ")
        raise RecordError(f"{path} does not fit its schema at {where}: {cut(wrong)}") from None
    return record if major != OLDER else record.brought_up(Folder(path.parent, bytes_of))


@dataclass(frozen=True)
class Folder:
    """A folder of records, of which one names another that lies beside it."""

    path: Path
    bytes_of: Callable[[Path], bytes] = Path.read_bytes

    def __call__(self, file: str, kind: type[AnyRecord]) -> AnyRecord:
        """The record in a file, named from the folder; raises RecordError as `read_record` does."""
        return read_record(self.path / file, kind, self.bytes_of)


def _major(path: Path, data: dict[str, Any]) -> str:
    """Major version of a file's schema; raises RecordError for one that is not read."""
    reads = f"this program reads {OLDER}.x and {SCHEMA_VERSION.split('.')[0]}.x"
    if "schema_version" not in data:
        raise RecordError(f"{path} has no schema version; {reads}")
    version = str(data["schema_version"])
    major = version.split(".")[0]
    if major not in (OLDER, SCHEMA_VERSION.split(".")[0]):
        raise RecordError(f"{path} has schema version {cut(version)}; {reads}")
    return major


def _sound(value: Any, depth: int = 0) -> None:
    """Raise ValueError for what is JSON and yet can be in no record: numbers without measure, texts that are none."""
    if depth > DEEPEST:
        raise ValueError(f"more than {DEEPEST} tables and lists within each other")
    if isinstance(value, str):
        value.encode()  # half a pair of surrogates cannot be written anywhere
    elif isinstance(value, int | float):
        if not abs(value) < LARGEST:  # nor is NaN
            raise ValueError(f"the number {cut(str(value))} is beyond all measure")
    elif isinstance(value, dict):
        for key, entry in value.items():
            _sound(key, depth)
            _sound(entry, depth + 1)
    elif isinstance(value, list):
        for entry in value:
            _sound(entry, depth + 1)
