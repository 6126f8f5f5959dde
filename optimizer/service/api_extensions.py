"""Of the API: an instrument carried on to lower notes, three ways."""

import shutil
from pathlib import Path
from typing import Annotated

from fastapi import Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse
from pydantic import BaseModel, ConfigDict, Field

from optimizer.project.loading import LoadedProject
from optimizer.records.extension import ExtensionRecord
from optimizer.records.files import RecordError, write_text
from optimizer.search.run_folder import new_folder, stamped
from optimizer.service import work
from optimizer.service.api_layouts import layout_named
from optimizer.service.api_projects import HandName, HandText, ProjectText
from optimizer.service.api_runs import Removed
from optimizer.service.launching import EXTENDED, PRESENT
from optimizer.service.opening import text_of
from optimizer.service.parts import FOREIGN_PAGE, Here, Parts, RunName, json_file, operations
from optimizer.service.refusals import RefusedError
from optimizer.service.shelf import EXTENSION, LAYOUT_NAME, RUN_NAME, State, extension_state, has_extension
from optimizer.service.tickets import new_ticket, read_ticket

router = operations("extensions")
PresentName = Annotated[str, Field(pattern=f"^{RUN_NAME.pattern}(/{LAYOUT_NAME.pattern})?$")]


class NewExtension(BaseModel):
    """What to extend, and to what.

    present : RUN/LAYOUT, or RUN for its best-tuned one; keep : pieces to keep from the reed (default: all but the
    last); redrill : most holes of kept pieces to open up
    """

    model_config = ConfigDict(extra="forbid")

    present: PresentName
    project: ProjectText
    hand: HandName = None
    hand_text: HandText = None
    minutes: Annotated[float, Field(gt=0, le=1440)] = 4.0
    keep: Annotated[int | None, Field(ge=1, le=20)] = None
    redrill: Annotated[int, Field(ge=0, le=100)] = 3


class ExtensionSummary(BaseModel):
    """An extension at a glance; ways: how many of the three are solved."""

    id: str
    present: str
    extended: str
    state: State
    message: str
    asked: str
    ways: int


@router.post("/extensions", status_code=201, operation_id="extend")
async def extend(new: NewExtension, here: Here, response: Response) -> ExtensionSummary:
    """Ask for an extension; it is solved when its turn comes."""
    present = layout_named(here, new.present)
    submitted = work.Submitted(new.project, new.hand, new.hand_text)
    loaded = await here.quick.do(work.checked, here.settings.projects, submitted, False)
    name = await run_in_threadpool(_prepared, here, new, present, loaded)
    response.headers["location"] = f"/api/v1/extensions/{name}"
    return _summary(here, name)


def _prepared(here: Parts, new: NewExtension, present: work.Named, loaded: LoadedProject) -> str:
    """A folder with both inputs in it, that waits."""
    try:
        text = text_of(present.layout)
    except OSError:
        raise RefusedError(404, "that layout is gone; the front has moved on") from None
    extended = loaded.project.instrument.name
    ticket = new_ticket(minutes=new.minutes, keep=new.keep, redrill=new.redrill, title=f"{present.name} to {extended}")
    here.queue.room()
    folder = new_folder(here.settings.results, f"{stamped(extended)}-extension")
    try:
        write_text(folder / PRESENT, text)
        write_text(folder / EXTENDED, loaded.text)
        here.queue.extend(folder, ticket)
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise
    return folder.name


@router.get("/extensions", operation_id="list_extensions")
def list_extensions(here: Here) -> list[ExtensionSummary]:
    """All extensions, the latest first; also those of the command line."""
    return [_summary(here, name) for name in here.shelf.extension_names()]


@router.get("/extensions/{run}", operation_id="get_extension")
def get_extension(run: RunName, here: Here) -> ExtensionSummary:
    """One extension at a glance."""
    return _summary(here, run)


@router.get(
    "/extensions/{run}/record", operation_id="get_extension_record", responses={200: {"model": ExtensionRecord}}
)
async def get_extension_record(run: RunName, here: Here, request: Request) -> Response:
    """What the extension costs, each of the three ways; 404 before it is done."""
    return json_file(request, *here.shelf.files.json(_done(here, run), ExtensionRecord))


@router.get("/extensions/{run}/page", operation_id="get_extension_page", response_class=HTMLResponse)
async def get_extension_page(run: RunName, here: Here) -> HTMLResponse:
    """The same as one page that opens without a network.

    Raises
    ------
    RefusedError
        404 before the extension is done, and for one made without a page
    """
    page = _done(here, run).with_suffix(".html")
    if not page.is_file():
        raise RefusedError(404, f"{run} was made without a page")
    return HTMLResponse(await run_in_threadpool(text_of, page), headers=FOREIGN_PAGE)


@router.post("/extensions/{run}/cancel", status_code=202, operation_id="cancel_extension")
def cancel_extension(run: RunName, here: Here) -> ExtensionSummary:
    """Take an extension out of the queue, or end its solves; what they found is lost."""
    here.shelf.extension(run)
    here.queue.cancel(run)
    return _summary(here, run)


@router.delete("/extensions/{run}", operation_id="delete_extension")
def delete_extension(run: RunName, here: Here) -> Removed:
    """Move an extension at rest to the removed ones; `restore` brings it back."""
    here.shelf.extension(run)
    return Removed(removed=here.queue.remove(run))


def _done(here: Parts, name: str) -> Path:
    path = here.shelf.extension(name) / EXTENSION
    if not path.is_file():
        raise RefusedError(404, f"{name} is not done")
    return path


def _summary(here: Parts, name: str) -> ExtensionSummary:
    folder = here.shelf.extension(name)
    ticket, record, broken = None, None, ""
    try:
        ticket = read_ticket(folder)
        if has_extension(folder):
            record = here.shelf.files.record(folder / EXTENSION, ExtensionRecord)
    except RecordError as error:
        broken = str(error).replace(f"{folder}/", "")
    state: State = "failed" if broken else extension_state(folder, ticket)
    present, _, extended = (ticket.title if ticket else "").partition(" to ")
    return ExtensionSummary(
        id=name,
        present=f"{record.present}, layout {record.present_layout}" if record else present,
        extended=record.extended if record else extended,
        state=state,
        message=broken or here.shelf.message(name, state, ticket),
        asked=ticket.asked if ticket else "",
        ways=len(record.ways) if record else 0,
    )
