"""Of the API: the bench book of a run, entry by entry."""

from typing import Annotated

from fastapi import Query, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, PlainTextResponse
from pydantic import BaseModel

from optimizer.records.bench_book import BOOK
from optimizer.records.book_entry import LEARNED, PAGE, PICTURE, RECORD, RECORDS, TAKES, Done, Kind
from optimizer.records.calibration import CalibrationRecord
from optimizer.records.correction import CorrectionRecord
from optimizer.records.files import RecordError
from optimizer.records.gauge import GaugedRecord
from optimizer.records.impedance import ImpedanceRecord
from optimizer.records.measurement import MeasurementRecord
from optimizer.records.takes import TakesRecord
from optimizer.service.opening import text_of
from optimizer.service.parts import FOREIGN_PAGE, EntryName, Here, Parts, RunName, json_file, operations
from optimizer.service.refusals import RefusedError
from optimizer.service.shelf import LAYOUT_NAME

router = operations("prototype")
AnyRecord = MeasurementRecord | GaugedRecord | ImpedanceRecord | CalibrationRecord | CorrectionRecord
OfLayout = Annotated[str | None, Query(pattern=f"^{LAYOUT_NAME.pattern}$", description="of this layout alone")]
BOXED_IN = {"content-security-policy": "default-src 'none'; style-src 'unsafe-inline'; sandbox"}


class Drawing(Response):
    """A drawing that stands by itself."""

    media_type = "image/svg+xml"


class BookEntry(BaseModel):
    """An entry of a run's bench book.

    layout : id of the layout that it is of; after : the correction that had been carried out
    title : what it was read from or made of; written : time of day, ISO 8601; based_on : entries that it was made from
    done : of a correction, what was done of its steps; files : names for `/runs/RUN/files`
    """

    id: str
    kind: Kind
    layout: str
    after: str | None
    title: str
    written: str
    based_on: list[str]
    done: list[Done] | None
    files: list[str]


class TakenOut(BaseModel):
    """An entry that stands in the book no more; it stays in the run's folder, with a dot before its name."""

    taken_out: str


@router.get("/runs/{run}/book", operation_id="list_book")
async def list_book(run: RunName, here: Here, layout: OfLayout = None) -> list[BookEntry]:
    """The bench book of a run, in the order it was written; entries that cannot be read are left out."""
    return await run_in_threadpool(_listed, here, run, layout)


def _listed(here: Parts, run: str, layout: str | None) -> list[BookEntry]:
    found = []
    for name in here.book.names(run):
        try:
            entry = entry_told(here, run, name)
        except (RefusedError, RecordError, OSError):
            continue
        if layout in (None, entry.layout):
            found.append(entry)
    return found


def entry_told(here: Parts, run: str, name: str) -> BookEntry:
    """An entry as the API tells it; raises as `Book.told`."""
    told, files = here.book.seen(run, name)
    own = told.model_dump(exclude={"schema_name", "schema_version"})
    return BookEntry(id=name, files=[f"{BOOK}/{name}/{each}" for each in files], **own)


@router.get("/runs/{run}/book/{entry}", operation_id="get_entry")
async def get_entry(run: RunName, entry: EntryName, here: Here) -> BookEntry:
    """One entry at a glance."""
    return await run_in_threadpool(entry_told, here, run, entry)


@router.delete("/runs/{run}/book/{entry}", operation_id="take_out_entry")
def take_out_entry(run: RunName, entry: EntryName, here: Here) -> TakenOut:
    """Take an entry out of the book."""
    here.book.take_out(run, entry)
    return TakenOut(taken_out=entry)


@router.get("/runs/{run}/book/{entry}/record", operation_id="get_entry_record", responses={200: {"model": AnyRecord}})
async def get_entry_record(run: RunName, entry: EntryName, here: Here, request: Request) -> Response:
    """What stands in it: a measurement, gauged sizes, an impedance, a fit or a correction."""
    kind = RECORDS[here.book.told(run, entry).kind]
    return json_file(request, *here.shelf.files.json(here.book.entry(run, entry) / RECORD, kind))


@router.get("/runs/{run}/book/{entry}/takes", operation_id="get_takes", responses={200: {"model": TakesRecord}})
async def get_takes(run: RunName, entry: EntryName, here: Here, request: Request) -> Response:
    """Of recordings: the tones of each take, and which note each was taken for; 404 where it is none."""
    return json_file(request, *here.shelf.files.json(here.book.entry(run, entry) / TAKES, TakesRecord))


@router.get("/runs/{run}/book/{entry}/picture", operation_id="get_picture", response_class=Drawing)
async def get_picture(run: RunName, entry: EntryName, here: Here) -> Response:
    """Its picture, where it has one: the takes, the impedance, or the history of a correction."""
    text = await _text(here, run, entry, PICTURE)
    return Drawing(text, headers=BOXED_IN)


@router.get("/runs/{run}/book/{entry}/page", operation_id="get_correction_page", response_class=HTMLResponse)
async def get_correction_page(run: RunName, entry: EntryName, here: Here) -> HTMLResponse:
    """A correction as a page to print for the bench, which opens without a network; 404 where it is none."""
    return HTMLResponse(await _text(here, run, entry, PAGE), headers=FOREIGN_PAGE)


@router.get("/runs/{run}/book/{entry}/learned", operation_id="get_learned", response_class=PlainTextResponse)
async def get_learned(run: RunName, entry: EntryName, here: Here) -> str:
    """Of a fit: what other projects take from it (TOML, `learned` in a project); 404 where it is none."""
    return await _text(here, run, entry, LEARNED)


async def _text(here: Parts, run: str, entry: str, file: str) -> str:
    return await run_in_threadpool(text_of, here.book.entry(run, entry) / file)
