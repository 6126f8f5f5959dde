"""The parts of a running service, and how a request comes by them."""

from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, Path, Request
from fastapi.responses import Response

from optimizer.service.following import Following
from optimizer.service.queue import Queue
from optimizer.service.settings import Settings
from optimizer.service.shelf import LAYOUT_NAME, RUN_NAME, Shelf
from optimizer.service.workshop import Bench

FOREIGN_PAGE = {
    "content-security-policy": "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; "
    "img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; sandbox allow-scripts allow-downloads"
}
"""A page that stands by itself brings its own style and script; boxed in, it can reach nothing of the service."""


@dataclass
class Parts:
    """Everything that requests share. quick: checks and drawings; slow: limits that conflict, predictions."""

    settings: Settings
    shelf: Shelf
    queue: Queue
    following: Following
    quick: Bench
    slow: Bench


def parts_of(request: Request) -> Parts:
    """The service's parts."""
    parts: Parts = request.app.state.parts
    return parts


Here = Annotated[Parts, Depends(parts_of)]
RunName = Annotated[str, Path(pattern=f"^{RUN_NAME.pattern}$", description="name of a run, as listed")]
LayoutName = Annotated[str, Path(pattern=f"^{LAYOUT_NAME.pattern}$", description="name of a layout, as on the front")]


def json_file(request: Request, text: bytes, tag: str) -> Response:
    """The JSON of a file; 304 for one who has it already."""
    had = {each.strip().removeprefix("W/") for each in request.headers.get("if-none-match", "").split(",")}
    if had & {tag, "*"}:
        return Response(status_code=304, headers={"etag": tag})
    return Response(text, media_type="application/json", headers={"etag": tag})
