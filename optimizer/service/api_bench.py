"""Of the API: from the bench and back: sheets to fill in, files of measurements, fits and corrections."""

from pathlib import Path
from typing import Annotated, Any

from fastapi import Query, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import PlainTextResponse
from pydantic import BaseModel, ConfigDict, Field

from optimizer.project.allowed_ranges import A4_HZ, AIR_DEGC, SEED
from optimizer.prototype.tuner_table import PASSES
from optimizer.records.book_entry import NAME, Done
from optimizer.service import bench_findings, bench_work
from optimizer.service.api_book import BookEntry, entry_told
from optimizer.service.api_present import FILE_NAME
from optimizer.service.parts import EntryName, Here, LayoutName, Parts, RunName, operations
from optimizer.service.refusals import RefusedError

router = operations("prototype")
SHARE = 0.5
"""Of the time that work may take, so much goes to the choices of a correction."""

CHOICES = 8
ANY_FILE: dict[str, Any] = {
    "requestBody": {
        "required": True,
        "description": "the file as it is",
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}
After = Annotated[
    str | None, Query(pattern=f"^{NAME.pattern}$", description="the correction that was carried out before")
]


class Table(PlainTextResponse):
    """A table to take away."""

    media_type = "text/csv"


class Choice(BaseModel):
    """What a tone of a take was, both counted from 0: line of the chart, by its place among the layout's notes; null
    leaves the tone out."""

    model_config = ConfigDict(extra="forbid")

    take: Annotated[int, Field(ge=0, le=1000)]
    tone: Annotated[int, Field(ge=0, le=100_000)]
    line: Annotated[int | None, Field(ge=0, le=10_000)]


class Choices(BaseModel):
    """Tones that were taken for other notes than they were."""

    model_config = ConfigDict(extra="forbid")

    tones: Annotated[list[Choice], Field(min_length=1, max_length=500)]


class FitWanted(BaseModel):
    """gauged: entries of gauge readings that count beside; next: how many measurements to name that would say most
    now."""

    model_config = ConfigDict(extra="forbid")

    gauged: Annotated[list[Annotated[str, Field(pattern=f"^{NAME.pattern}$")]], Field(max_length=20)] = []
    next: Annotated[int, Field(ge=0, le=40)] = 6


class CorrectionWanted(BaseModel):
    """seconds: how long each choice of steps may take."""

    model_config = ConfigDict(extra="forbid")

    seconds: Annotated[float, Field(gt=0, le=5)] = 3.0


class CarriedOut(BaseModel):
    """What was done of a correction; steps left out were not done."""

    model_config = ConfigDict(extra="forbid")

    steps: Annotated[list[Done], Field(max_length=200)]


@router.get("/runs/{run}/layouts/{layout}/bench-sheet", operation_id="get_bench_sheet", response_class=Table)
async def get_bench_sheet(
    run: RunName,
    layout: LayoutName,
    here: Here,
    passes: Annotated[int, Query(ge=1, le=PASSES, description="how often every note is played")] = 3,
    seed: Annotated[int, Query(ge=SEED.least, le=SEED.highest, description="of the order")] = 1,
    after: After = None,
) -> Response:
    """A tuner table to fill in at the bench (CSV), the most telling notes first."""
    place = here.book.layout(run, layout, after)
    return _sheet(await here.quick.do(bench_work.bench_table, place, passes, seed), f"{run}-{layout}-notes.csv")


@router.get("/runs/{run}/layouts/{layout}/gauge-sheet", operation_id="get_gauge_sheet", response_class=Table)
async def get_gauge_sheet(run: RunName, layout: LayoutName, here: Here, after: After = None) -> Response:
    """A table of gauge readings to fill in at the bench (CSV)."""
    place = here.book.layout(run, layout, after)
    return _sheet(await here.quick.do(bench_work.gauge_table, place), f"{run}-{layout}-gauges.csv")


def _sheet(text: str, name: str) -> Response:
    return Table(text, headers={"content-disposition": f'attachment; filename="{name}"'})


@router.post("/runs/{run}/layouts/{layout}/book", status_code=201, operation_id="measure", openapi_extra=ANY_FILE)
async def measure(
    run: RunName,
    layout: LayoutName,
    here: Here,
    request: Request,
    name: Annotated[str, Query(pattern=FILE_NAME, description="of the file; recordings may be named after a note")],
    a4_hz: Annotated[float | None, Query(ge=A4_HZ.least, le=A4_HZ.most, description="A4 of the tuner [Hz]")] = None,
    temperament: Annotated[str | None, Query(max_length=40, description="of the tuner")] = None,
    bell_degC: Annotated[
        float | None, Query(ge=AIR_DEGC.least, le=AIR_DEGC.most, description="air at the bell end [degC]")
    ] = None,
    note: Annotated[str | None, Query(max_length=20, description="of an impedance: what was fingered")] = None,
    order: Annotated[
        str | None, Query(max_length=4000, description="of a recording: its notes in order, with commas between")
    ] = None,
    into: Annotated[
        str | None, Query(pattern=f"^{NAME.pattern}$", description="of a recording: the entry whose session it is of")
    ] = None,
    after: After = None,
) -> BookEntry:
    """Take in a file from the bench as a new entry of the book: a recording (WAV, FLAC, OGG), a tuner table, gauge
    readings, or an impedance; which one is told by what is in it.

    Raises
    ------
    RefusedError
        422 where a recording is to join one of another layout
    """
    of = bench_work.Of(here.book.layout(run, layout, after), after)
    given = bench_work.Given(a4_hz, temperament, bell_degC, note, order)
    async with here.book.desk() as desk:
        sent, made = desk / "sent", desk / "made"
        sent.mkdir()
        made.mkdir()
        await _saved(request, sent / name)
        await here.slow.do(bench_work.taken_in, sent / name, of, given, made)
        if into is None:
            return await _added(here, run, made)
        session = here.book.entry(run, into)
        if here.book.told(run, into).layout != layout:
            raise RefusedError(422, f"entry {into} is of another layout")
        return await _changed(here, run, into, desk, bench_work.joined, session, made)


async def _saved(request: Request, path: Path) -> None:
    """Keep a file that comes for as long as it is read; the guard has bounded it."""
    with path.open("wb") as file:
        async for part in request.stream():
            await run_in_threadpool(file.write, part)


async def _added(here: Parts, run: str, made: Path) -> BookEntry:
    return await run_in_threadpool(lambda: entry_told(here, run, here.book.add(run, made)))


async def _changed(here: Parts, run: str, entry: str, desk: Path, work: Any, *given: Any) -> BookEntry:
    """An entry once work made it anew, from what it is when its turn comes."""
    made = desk / "anew"
    made.mkdir()
    async with here.book.turn(run, entry):
        await here.slow.do(work, *given, made)
        await run_in_threadpool(here.book.change, run, entry, made)
    return await run_in_threadpool(entry_told, here, run, entry)


@router.post("/runs/{run}/book/{entry}/assignments", operation_id="assign")
async def assign(run: RunName, entry: EntryName, wanted: Choices, here: Here) -> BookEntry:
    """Put right which notes the tones of a recording were; its cents follow."""
    chosen = {(each.take, each.tone): each.line for each in wanted.tones}
    place = here.book.entry(run, entry)
    async with here.book.desk() as desk:
        return await _changed(here, run, entry, desk, bench_work.put_right, place, chosen)


@router.post("/runs/{run}/book/{entry}/fit", status_code=201, operation_id="fit")
async def fit(run: RunName, entry: EntryName, wanted: FitWanted, here: Here) -> BookEntry:
    """What a recording or a tuner table says of reed, air, bore and holes, and what to measure next; a new entry."""
    place = here.book.entry(run, entry)
    sizes = [here.book.entry(run, each) for each in wanted.gauged]
    async with here.book.desk() as desk:
        (made := desk / "made").mkdir()
        await here.slow.do(bench_findings.fitted, place, sizes, wanted.next, made)
        return await _added(here, run, made)


@router.post("/runs/{run}/book/{entry}/correction", status_code=201, operation_id="correct")
async def correct(run: RunName, entry: EntryName, wanted: CorrectionWanted, here: Here) -> BookEntry:
    """The few changes that bring a fitted instrument into tune, after the pass before where there was one; a new
    entry."""
    place, folder = here.book.entry(run, entry), here.shelf.folder(run)
    after = here.book.told(run, entry).after
    earlier = None if after is None else here.book.entry(run, after)
    seconds = min(wanted.seconds, SHARE * here.settings.work_seconds / CHOICES)
    async with here.book.desk() as desk:
        (made := desk / "made").mkdir()
        await here.slow.do(bench_findings.corrected, folder, place, earlier, seconds, made)
        return await _added(here, run, made)


@router.post("/runs/{run}/book/{entry}/done", operation_id="carry_out")
async def carry_out(run: RunName, entry: EntryName, wanted: CarriedOut, here: Here) -> BookEntry:
    """Note what was done of a correction, as measured afterwards; the next measurement is held against that."""
    place = here.book.entry(run, entry)
    async with here.book.desk() as desk:
        return await _changed(here, run, entry, desk, bench_findings.carried_out, place, wanted.steps)
