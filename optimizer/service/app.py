"""The service put together: API, page, guard, and a beginning and an end."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from functools import partial
from importlib import metadata
from pathlib import Path
from typing import Any

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel, ConfigDict, Field
from starlette.exceptions import HTTPException

from optimizer import cautions
from optimizer.project.findings import Finding, at, shortened
from optimizer.records.files import RecordError
from optimizer.service import (
    api_beginnings,
    api_bench,
    api_book,
    api_by_hand,
    api_extensions,
    api_files,
    api_handoffs,
    api_layouts,
    api_present,
    api_projects,
    api_runs,
    api_studies,
    tokens,
)
from optimizer.service.api_links import linked
from optimizer.service.book import Book
from optimizer.service.conditions import PageFiles
from optimizer.service.following import Following
from optimizer.service.guard import Guard, sender
from optimizer.service.guesses import Guesses
from optimizer.service.methods import allowed
from optimizer.service.parts import Here, Parts, operations
from optimizer.service.places import Places
from optimizer.service.queue import Queue
from optimizer.service.refusals import DOCUMENTED, HEADERS, RefusedError, out_of_reach, problem_response, told
from optimizer.service.settings import Settings
from optimizer.service.shelf import Shelf
from optimizer.service.sittings import Sittings
from optimizer.service.workshop import Bench
from optimizer.views.html import HERE, style

STATIC = Path(__file__).parent / "static"
ASSETS = HERE / "assets"
"""Of reports, whose viewer of solids the page has too."""
PREFIX = "/api/v1"
DESCRIPTION = "Searches for tone-hole layouts of reed woodwinds: submit, follow, choose, hand over."
QUICK_SECONDS = 30.0
MOVE_SECONDS, MOVE_BYTES_MOST = 30.0, 1_000_000_000
about = operations("service")


class About(BaseModel):
    """What a service is and takes on; its cautions, then those of them that concern hands, and those of making."""

    version: str
    running_most: int
    waiting_most: int
    minutes_most: float
    upload_bytes_most: int
    cautions: list[str]
    cautions_of_hands: list[str]
    cautions_of_making: list[str]


class Given(BaseModel):
    """A token in exchange for a session of this browser."""

    model_config = ConfigDict(extra="forbid")

    token: str = Field(max_length=tokens.MOST)


@about.get("/", operation_id="about")
async def about_service(here: Here) -> About:
    """What this service is and takes on."""
    own = here.settings
    return About(
        version=metadata.version("holewright"),
        running_most=own.running_most,
        waiting_most=own.waiting_most,
        minutes_most=own.minutes_most,
        cautions=list(cautions.of_all(adult=False)),
        upload_bytes_most=own.upload_bytes_most,
        cautions_of_hands=list(cautions.MEASURING),
        cautions_of_making=list(cautions.MAKING),
    )


@about.post("/session", status_code=204, operation_id="begin_session")
async def begin_session(given: Given, here: Here, request: Request) -> Response:
    """Exchange the token for a cookie of this browser; 403 for a wrong one.

    Raises
    ------
    RefusedError
        403 for a wrong token, 429 when too many came from that address
    """
    digest = here.settings.token_digest
    if not await here.guesses.right(given.token, sender(request.scope)):
        raise RefusedError(403, "that is not the token")
    answer = Response(status_code=204)
    if digest is not None:
        secure = request.url.scheme == "https"
        answer.set_cookie(tokens.COOKIE, tokens.session_of(digest), httponly=True, samesite="strict", secure=secure)
    return answer


class _Service(FastAPI):
    """An application whose document tells which operation may follow which."""

    def openapi(self) -> dict[str, Any]:
        return linked(super().openapi()) if self.openapi_schema is None else self.openapi_schema


def make_app(settings: Settings) -> FastAPI:
    """The application; its queue begins with it."""
    shelf = Shelf(settings)
    parts = Parts(
        settings=settings,
        shelf=shelf,
        queue=Queue(settings, shelf),
        following=Following(settings, shelf),
        guesses=Guesses(settings.token_digest),
        quick=Bench(min(QUICK_SECONDS, settings.work_seconds), settings.work_bytes_most, to_its_end=True),
        slow=Bench(settings.work_seconds, settings.work_bytes_most),
        drawing=Bench(settings.handoff_seconds, settings.work_bytes_most, settings.handoffs_most),
        packing=Places(settings.archives_most, "archives are being packed"),
        book=Book(settings, shelf),
        sittings=Sittings(
            settings.sittings_most,
            settings.sitting_seconds,
            min(MOVE_SECONDS, settings.work_seconds),
            min(MOVE_BYTES_MOST, settings.work_bytes_most),
        ),
    )
    app = _Service(
        title="Holewright",
        version="1",
        description=DESCRIPTION,
        openapi_url=f"{PREFIX}/openapi.json",
        docs_url=None,
        redoc_url=None,
        lifespan=_lifespan,
        responses=DOCUMENTED,
    )
    app.state.parts = parts
    app.include_router(about, prefix=PREFIX)
    studies = (api_by_hand, api_studies, api_bench, api_book, api_handoffs, api_extensions)
    for part in (api_projects, api_beginnings, api_runs, api_present, api_files, api_layouts, *studies):
        app.include_router(part.router, prefix=PREFIX)
    _answer_faults(app)
    page = PageFiles(directory=STATIC)
    app.add_api_route("/", partial(_page, page), include_in_schema=False)
    app.add_api_route("/style/drawings.css", _drawings_style, include_in_schema=False)
    app.mount("/static", page, name="static")
    app.mount("/assets", PageFiles(directory=ASSETS), name="assets")
    app.add_middleware(Guard, settings=settings, guesses=parts.guesses)
    return app


async def _page(files: PageFiles, request: Request) -> Response:
    return await files.get_response("index.html", request.scope)


async def _drawings_style() -> Response:
    """The style that drawings and tables of reports are made for."""
    return Response(style(), media_type="text/css")


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    parts: Parts = app.state.parts
    parts.queue.open()
    parts.book.open()
    try:
        yield
    finally:
        await parts.following.close()
        parts.queue.close()
        for bench in (parts.quick, parts.slow, parts.drawing):
            bench.close()
        parts.sittings.close()


def _answer_faults(app: FastAPI) -> None:
    """Every refusal as problem details, and nothing of a fault's inside."""

    @app.exception_handler(RefusedError)
    async def refused(_request: Request, error: RefusedError) -> Response:
        return problem_response(error.status, error.detail, error.problems)

    @app.exception_handler(RequestValidationError)
    async def unfit(_request: Request, error: RequestValidationError) -> Response:
        found = told(shortened([_finding(each) for each in error.errors()]))
        if any(each["type"] == "json_invalid" for each in error.errors()):
            return problem_response(400, "the request is not JSON")
        return problem_response(422, "the request does not fit", found)

    @app.exception_handler(HTTPException)
    async def not_served(request: Request, error: HTTPException) -> Response:
        headers, path = dict(error.headers or {}), request.scope["path"]
        if error.status_code == 405 or path == "*":
            headers = {"allow": allowed(app.routes, request.scope)}
            if request.method == "OPTIONS":
                return Response(status_code=204, headers=headers)
        said = SAID_OF_STATUS.get(error.status_code, str(error.detail))
        return problem_response(error.status_code, said, headers=headers)

    @app.exception_handler(RecordError)
    async def unreadable(_request: Request, _error: RecordError) -> Response:
        return problem_response(404, "a file of this run is missing or cannot be read")

    @app.exception_handler(OSError)
    async def no_files(_request: Request, error: OSError) -> Response:
        refusal = out_of_reach(error)
        return problem_response(refusal.status, refusal.detail)

    @app.exception_handler(Exception)
    async def fault(_request: Request, _error: Exception) -> Response:
        return problem_response(500, "a fault of the service; its log says more", headers=HEADERS)  # beyond the guard


SAID_OF_STATUS = {
    400: "the request cannot be read; it must be JSON in UTF-8",
    404: "there is nothing at this address",
    405: "this address does not take that method; the header field Allow lists those that it takes",
}
"""What is said in place of the framework's words."""

SAID = {
    "extra_forbidden": "there is no such key; the OpenAPI document lists those there are",
    "missing": "is missing",
    "model_attributes_type": "must be a JSON object, sent with `Content-Type: application/json`",
    "string_pattern_mismatch": "is not written as it must be; the OpenAPI document tells the pattern",
    "finite_number": "must be a finite number",
}
"""What is said in place of the validator's words."""


def _finding(error: dict[str, Any]) -> Finding:
    path = ".".join(str(part) for part in error["loc"] if part != "body")
    return at(path or "the request", SAID.get(error["type"], error["msg"]))._replace(path=path)
