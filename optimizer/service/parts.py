"""The parts of a running service, and how a request comes by them."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path, Request
from fastapi.responses import Response
from fastapi.routing import APIRoute

from optimizer.records.book_entry import NAME
from optimizer.service.book import Book
from optimizer.service.conditions import not_needed, told
from optimizer.service.following import Following
from optimizer.service.guesses import Guesses
from optimizer.service.places import Places
from optimizer.service.queue import Queue
from optimizer.service.settings import Settings
from optimizer.service.shelf import LAYOUT_NAME, RUN_NAME, Shelf
from optimizer.service.sittings import Sittings
from optimizer.service.workshop import Bench
from optimizer.words import to_people

FOREIGN_PAGE = {
    "content-security-policy": "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; "
    "img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; sandbox allow-scripts allow-downloads"
}
"""A page that stands by itself brings its own style and script; boxed in, it can reach nothing of the service."""


@dataclass
class Parts:
    """Everything that requests share. quick: checks and drawings; slow: limits that conflict, predictions; drawing:
    hand-offs; packing: archives; sittings: of those who move holes by hand."""

    settings: Settings
    shelf: Shelf
    queue: Queue
    following: Following
    guesses: Guesses
    quick: Bench
    slow: Bench
    drawing: Bench
    packing: Places
    book: Book
    sittings: Sittings


def parts_of(request: Request) -> Parts:
    """The service's parts."""
    parts: Parts = request.app.state.parts
    return parts


Here = Annotated[Parts, Depends(parts_of)]
RunName = Annotated[str, Path(pattern=f"^{RUN_NAME.pattern}$", description="name of a run, as listed")]
EntryName = Annotated[str, Path(pattern=f"^{NAME.pattern}$", description="name of an entry of a run's bench book")]
LayoutName = Annotated[str, Path(pattern=f"^{LAYOUT_NAME.pattern}$", description="name of a layout, as on the front")]


class _Operation(APIRoute):
    """An operation whose docstring the OpenAPI document repeats as far as it speaks to people."""

    def __init__(self, path: str, endpoint: Callable[..., Any], **more: Any) -> None:
        super().__init__(path, endpoint, **{**more, "description": to_people(endpoint.__doc__)})


def operations(tag: str) -> APIRouter:
    """A part of the API, empty yet."""
    return APIRouter(tags=[tag], route_class=_Operation)


def json_file(request: Request, text: bytes, tag: str) -> Response:
    """The JSON of a file, as far as the request needs it; raises as `not_needed`."""
    found = not_needed(request.headers, tag)
    return found or Response(text, media_type="application/json", headers=told(tag, None))
