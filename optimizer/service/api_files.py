"""Of the API: what a run leaves to be taken away, file by file or all at once."""

import os
import re
import shutil
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import IO

from fastapi import Request, Response
from fastapi.responses import StreamingResponse
from pydantic import BaseModel
from starlette.background import BackgroundTask

from optimizer.service.conditions import not_needed, told
from optimizer.service.kept_files import state_of, tag_of
from optimizer.service.opening import opened
from optimizer.service.parts import Here, RunName, operations
from optimizer.service.refusals import RefusedError

router = operations("runs")


class ResultFile(BaseModel):
    """A file of a run: name within its folder, size in bytes."""

    name: str
    bytes: int


@router.get("/runs/{run}/files", operation_id="list_files")
def list_files(run: RunName, here: Here) -> list[ResultFile]:
    """Files of a run that may be taken away."""
    found = []
    for name, path in here.shelf.results(here.shelf.folder(run)).items():
        with suppress(FileNotFoundError):  # a layout that left the front meanwhile
            found.append(ResultFile(name=name, bytes=path.stat().st_size))
    return found


@router.get("/runs/{run}/files/{name:path}", operation_id="get_file", response_class=StreamingResponse)
def get_file(run: RunName, name: str, here: Here, request: Request) -> Response:
    """One file of a run, as it is.

    Raises
    ------
    RefusedError
        404 when the run has no file of that name; 412 as `not_needed`
    """
    path = here.shelf.results(here.shelf.folder(run)).get(name)
    if path is None:
        raise RefusedError(404, f"run {run} has no file of that name")
    kind = "application/json" if path.suffix == ".json" else "application/octet-stream"
    headers = {"content-disposition": f'attachment; filename="{run}-{_plain(path.name)}"'}
    file = opened(path)
    state = os.fstat(file.fileno())
    tag = tag_of(state_of(state))
    try:
        found = not_needed(request.headers, tag, state.st_mtime)
    except RefusedError:
        file.close()
        raise
    if found is not None:
        file.close()
        return found
    return _sent(file, kind, {**headers, **told(tag, state.st_mtime)})


@router.get("/runs/{run}/archive", operation_id="get_archive", response_class=StreamingResponse)
def get_archive(run: RunName, here: Here) -> StreamingResponse:
    """The whole run as a ZIP archive."""
    with here.packing.one():
        packed = _packed(run, here.shelf.results(here.shelf.folder(run)))
    headers = {"content-disposition": f'attachment; filename="{run}.zip"'}
    return _sent(packed, "application/zip", headers)


def _plain(name: str) -> str:
    """A file's name with nothing in it that a header cannot hold."""
    return re.sub(r"[^A-Za-z0-9._-]", "_", name)


def _packed(run: str, files: dict[str, Path]) -> IO[bytes]:
    """A ZIP archive of files, in memory while it is small; one that goes in the meantime is left out."""
    packed = tempfile.SpooledTemporaryFile(max_size=8_000_000)  # noqa: SIM115  (closed by its reader)
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, path in files.items():
            try:
                source = opened(path)
            except FileNotFoundError:
                continue
            with source, archive.open(f"{run}/{name}", "w", force_zip64=True) as target:
                shutil.copyfileobj(source, target)
    packed.seek(0)
    return packed


def _sent(file: IO[bytes], kind: str, headers: dict[str, str]) -> StreamingResponse:
    """A file's content in parts; it is closed also where none of it is read, as for HEAD."""
    return StreamingResponse(_read(file), media_type=kind, headers=headers, background=BackgroundTask(file.close))


def _read(file: IO[bytes]) -> Iterator[bytes]:
    while part := file.read(65_536):
        yield part
