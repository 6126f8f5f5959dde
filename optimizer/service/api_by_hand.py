"""Of the API: numbers of a layout moved by hand, in a process that stays warm for as long as one sits at it."""

from typing import Annotated, Any

from fastapi import Path, Response
from fastapi.concurrency import run_in_threadpool
from pydantic import BaseModel, ConfigDict, Field

from optimizer.records.files import RecordError
from optimizer.records.layout import LayoutRecord
from optimizer.records.moved import MovedLayout
from optimizer.records.named_layouts import by_hand_files
from optimizer.records.parentage import Parentage
from optimizer.service import by_hand_work
from optimizer.service.parts import Here, LayoutName, Parts, RunName, operations
from optimizer.service.refusals import RefusedError

router = operations("layouts")
SITTING = "^[A-Za-z0-9_-]{4,64}$"
Number = Annotated[str, Field(pattern=r"^[a-z_0-9]{1,30}(\.[A-Za-z0-9_#-]{1,60})?$")]
Numbers = Annotated[
    dict[Number, Annotated[float, Field(ge=-1e5, le=1e5)]],
    Field(max_length=1000, description="changed numbers by their names, in mm (reed in cm3); others as in the layout"),
]
Names = Annotated[list[Number], Field(max_length=1000)]
NEWEST: dict[int | str, dict[str, Any]] = {
    200: {"model": MovedLayout},
    204: {"description": "something newer of the same sitting came before this was begun"},
}


class Move(BaseModel):
    """A layout with some numbers changed.

    sitting : any name of one's own; what is asked under it goes to one process, which stays warm
    number : counts what is asked in a sitting; only the newest is worked out, what it overtakes answers 204
    """

    model_config = ConfigDict(extra="forbid")

    sitting: Annotated[str, Field(pattern=SITTING)]
    number: Annotated[int, Field(ge=0, lt=2**53)]
    numbers: Numbers = {}


class Settle(Move):
    """The same with the others solved again; held : numbers that stay; steps : of the solver, at most."""

    held: Names = []
    steps: Annotated[int, Field(ge=1, le=100)] = 24


class Keep(BaseModel):
    """What is to be kept; moved : those of the changed numbers that were moved by hand, the others followed."""

    model_config = ConfigDict(extra="forbid")

    numbers: Numbers
    moved: Names = []


class ByHandEntry(BaseModel):
    """A layout of a run that was changed by hand; better_on_front : layouts of the front that beat it in everything,
    empty where it could stand on the front."""

    id: str
    parentage: Parentage
    objectives: dict[str, float]
    feasible: bool
    better_on_front: list[str]


@router.post("/runs/{run}/layouts/{layout}/moved", operation_id="move_layout", responses=NEWEST)
async def move_layout(run: RunName, layout: LayoutName, asked: Move, here: Here) -> Response:
    """What a layout comes to with some numbers changed: every note, reach, limits and what binds."""
    given = here.shelf.folder(run), here.shelf.layout(run, layout), asked.numbers
    return _newest(await here.sittings.at(asked.sitting).newest(asked.number, by_hand_work.moved, *given))


@router.post("/runs/{run}/layouts/{layout}/settled", operation_id="settle_layout", responses=NEWEST)
async def settle_layout(run: RunName, layout: LayoutName, asked: Settle, here: Here) -> Response:
    """The same with all numbers that are not held solved again; `settled` false: ask again with what it came to."""
    given = here.shelf.folder(run), here.shelf.layout(run, layout), asked.numbers, asked.held, asked.steps
    return _newest(await here.sittings.at(asked.sitting).newest(asked.number, by_hand_work.settled, *given))


def _newest(found: bytes | None) -> Response:
    return Response(status_code=204) if found is None else Response(found, media_type="application/json")


@router.delete("/sittings/{sitting}", status_code=204, operation_id="end_sitting")
async def end_sitting(sitting: Annotated[str, Path(pattern=SITTING)], here: Here) -> Response:
    """End a sitting's process; it would end by itself once nothing is asked of it for a while."""
    here.sittings.end(sitting)
    return Response(status_code=204)


@router.post("/runs/{run}/layouts/{layout}/kept", status_code=201, operation_id="keep_layout")
async def keep_layout(run: RunName, layout: LayoutName, asked: Keep, here: Here) -> ByHandEntry:
    """Keep a layout with some numbers changed as a layout of the run, with what it was changed from; no search counts
    it, and no front has it."""
    given = here.shelf.folder(run), here.shelf.layout(run, layout), asked.numbers, asked.moved
    name = await here.quick.do(by_hand_work.kept, *given)
    return await run_in_threadpool(_entry, here, run, name)


@router.get("/runs/{run}/by-hand", operation_id="list_by_hand")
async def list_by_hand(run: RunName, here: Here) -> list[ByHandEntry]:
    """The layouts of a run that were changed by hand, the first first; those that cannot be read are left out."""
    return await run_in_threadpool(_listed, here, run)


def _listed(here: Parts, run: str) -> list[ByHandEntry]:
    found = []
    for name in by_hand_files(here.shelf.folder(run)):
        try:
            found.append(_entry(here, run, name))
        except (RecordError, RefusedError, OSError):
            continue
    return found


def _entry(here: Parts, run: str, name: str) -> ByHandEntry:
    record: LayoutRecord = here.shelf.layout_record(run, name)
    front = here.shelf.front(here.shelf.folder(run))
    better = [] if front is None or not front.feasible else front.better_than(record.objectives)
    return ByHandEntry(
        id=name,
        parentage=record.parentage or Parentage(layout="", moved=[], followed=[]),
        objectives=record.objectives,
        feasible=record.feasible,
        better_on_front=better,
    )
