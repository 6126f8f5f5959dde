"""Of the API: an instrument that is made, which becomes a run that nothing searches."""

from typing import Annotated

from fastapi import Response
from fastapi.concurrency import run_in_threadpool
from pydantic import BaseModel, ConfigDict, Field

from optimizer.service import present_work
from optimizer.service.api_projects import HandName, HandText, ProjectText
from optimizer.service.parts import Here, operations
from optimizer.service.refusals import RefusedError
from optimizer.service.shelf import RunSummary
from optimizer.service.work import Submitted

router = operations("runs")
FILE_NAME = r"^[^/\\\x00-\x1f.][^/\\\x00-\x1f]{0,59}$"
"""Of a file that is sent along: no folder, nothing that a path could take for more than a name."""


class SentTable(BaseModel):
    """A table that is sent along: the name of its file, whose ending says CSV or TOML, and its text."""

    model_config = ConfigDict(extra="forbid")

    name: Annotated[str, Field(pattern=FILE_NAME)]
    text: Annotated[str, Field(max_length=300_000)]


class NewPresent(BaseModel):
    """An instrument that is made.

    project : of its chart, hand and scale; holes, bore : tables of it; gauged : gauge readings in place of sizes there
    reed_cm3, end_mm, joints_mm : what its reed holds, where its bell ends, middles of its joints; left out: as the
    project's [present] says
    """

    model_config = ConfigDict(extra="forbid")

    project: ProjectText
    hand: HandName = None
    hand_text: HandText = None
    holes: SentTable
    bore: SentTable | None = None
    gauged: SentTable | None = None
    reed_cm3: Annotated[float | None, Field(ge=0, le=100)] = None
    end_mm: Annotated[float | None, Field(gt=0, le=10_000)] = None
    joints_mm: Annotated[list[Annotated[float, Field(gt=0, lt=10_000)]], Field(max_length=20)] = []


class PresentRun(BaseModel):
    """The run of an instrument that is made, and what was odd about its tables."""

    run: RunSummary
    remarks: list[str]


@router.post("/present", status_code=201, operation_id="present")
async def present(new: NewPresent, here: Here, response: Response) -> PresentRun:
    """Show an instrument that is made, by the table of its holes: a run with it alone, that no search ran for.

    Raises
    ------
    RefusedError
        503 when the shelf is full
    """
    if len(await run_in_threadpool(here.shelf.all_names)) >= here.settings.runs_most:
        raise RefusedError(503, "the shelf is full; delete runs that are not needed any more")
    submitted = Submitted(new.project, new.hand, new.hand_text)
    tables = {name: _sent(getattr(new, name)) for name in ("bore", "gauged")}
    told = present_work.Instrument(
        holes=present_work.Sent(new.holes.name, new.holes.text), **tables, reed_cm3=new.reed_cm3, end_mm=new.end_mm,
        joints_mm=tuple(new.joints_mm),
    )  # fmt: skip
    async with here.book.desk() as desk:
        name, remarks = await here.slow.do(present_work.present, here.settings.projects, submitted, told, desk)
        run = await run_in_threadpool(here.queue.take_over, desk / present_work.MADE / name)
    response.headers["location"] = f"/api/v1/runs/{run}"
    return PresentRun(run=await run_in_threadpool(here.shelf.summary, run), remarks=remarks)


def _sent(table: SentTable | None) -> present_work.Sent | None:
    return None if table is None else present_work.Sent(table.name, table.text)
