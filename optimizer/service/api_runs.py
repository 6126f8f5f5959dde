"""Of the API: runs from submission to removal; what they leave is in `api_files`."""

from typing import Annotated, Any

from fastapi import Header, Query, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, PlainTextResponse, StreamingResponse
from pydantic import BaseModel, ConfigDict, Field

from optimizer.project.allowed_ranges import MINUTES, SEED, TRIALS, WORKERS
from optimizer.records.recommendation import RecommendationRecord
from optimizer.records.run import FrontRecord, ProgressRecord, RunRecord
from optimizer.search.search_limits import limits_of
from optimizer.service import work
from optimizer.service.api_projects import HandName, HandText, ProjectText
from optimizer.service.parts import FOREIGN_PAGE, Here, Parts, RunName, json_file, operations
from optimizer.service.refusals import Finding, RefusedError
from optimizer.service.shelf import RunSummary, State
from optimizer.service.tickets import new_ticket

router = operations("runs")
Minutes = Annotated[float | None, Field(gt=MINUTES.above, le=MINUTES.highest)]
Trials = Annotated[int | None, Field(ge=TRIALS.least, le=TRIALS.highest)]
Workers = Annotated[int | None, Field(ge=WORKERS.least, le=WORKERS.highest)]


class Limits(BaseModel):
    """When a search ends, whichever comes first, and on how many workers it runs (default: all cores).

    With none of minutes, trials and idle_minutes it ends after the minutes of its project.
    """

    model_config = ConfigDict(extra="forbid")

    minutes: Minutes = None
    trials: Trials = None
    idle_minutes: Minutes = None
    workers: Workers = None


class NewRun(Limits):
    """A project to search. anyway: also when limits conflict, for the layout that breaks them least."""

    project: ProjectText
    hand: HandName = None
    hand_text: HandText = None
    seed: Annotated[int | None, Field(ge=SEED.least, le=SEED.highest)] = None
    anyway: bool = False


class SubmittedRun(RunSummary):
    """A run as submitted, with what its project likely does not mean, as `check_project` asks."""

    questions: list[Finding]


class RunList(BaseModel):
    """Runs, the latest begun first; total counts all that were asked for."""

    total: int
    runs: list[RunSummary]


class Removed(BaseModel):
    """A removed run by its name among the removed ones."""

    removed: str


class Restored(BaseModel):
    """A run that was brought back, by its name."""

    run: str


EVENTS: dict[str, Any] = {
    "description": "Server-sent events; data of `moment` is JSON with `run`, `progress`, `front` and `book`",
    "content": {"text/event-stream": {"schema": {"type": "string"}}},
}


@router.post("/runs", status_code=201, operation_id="submit_run")
async def submit_run(new: NewRun, here: Here, response: Response) -> SubmittedRun:
    """Submit a project; it is searched when its turn comes. Likely mistakes in it are asked about, and stop nothing."""
    within(new, here)
    submitted = work.Submitted(new.project, new.hand, new.hand_text)
    bench = here.quick if new.anyway else here.slow
    loaded, questions = await bench.do(work.questioned, here.settings.projects, submitted, not new.anyway)
    asked = {name: getattr(new, name) for name in Limits.model_fields}
    chosen = limits_of(loaded.project.search, seed=new.seed, **asked)
    limits = Limits(**{name: getattr(chosen, name) for name in asked})
    within(limits, here)
    run = await run_in_threadpool(here.queue.submit, loaded, chosen.seed, new_ticket(**limits.model_dump()))
    response.headers["location"] = f"/api/v1/runs/{run}"
    summary = await run_in_threadpool(_summary, here, run)
    return SubmittedRun(questions=questions, **summary.model_dump())


@router.get("/runs", operation_id="list_runs")
async def list_runs(
    here: Here,
    state: State | None = None,
    limit: Annotated[int, Query(ge=1, le=500)] = 100,
    offset: Annotated[int, Query(ge=0, le=10**9)] = 0,
) -> RunList:
    """The runs there are, whoever started them."""
    return await run_in_threadpool(_listed, here, state, limit, offset)


def _listed(here: Parts, state: State | None, limit: int, offset: int) -> RunList:
    names = here.shelf.names()
    if state is None:
        total, chosen = len(names), [here.shelf.summary(name) for name in names[offset : offset + limit]]
    else:
        found = [each for name in names if (each := here.shelf.summary(name)).state == state]
        total, chosen = len(found), found[offset : offset + limit]
    return RunList(total=total, runs=_placed(here, chosen))


def _placed(here: Parts, runs: list[RunSummary]) -> list[RunSummary]:
    """The runs, those that wait with how many wait before them; looked for only where one does."""
    if all(each.state != "waiting" for each in runs):
        return runs
    place = {name: number for number, name in enumerate(here.queue.waiting())}
    return [
        each.model_copy(update={"waiting_before": place.get(each.id)}) if each.state == "waiting" else each
        for each in runs
    ]


def _summary(here: Parts, run: str) -> RunSummary:
    return _placed(here, [here.shelf.summary(run)])[0]


@router.get("/runs/{run}", operation_id="get_run")
def get_run(run: RunName, here: Here) -> RunSummary:
    """One run at a glance."""
    return _summary(here, run)


@router.get("/runs/{run}/progress", operation_id="get_progress")
async def get_progress(run: RunName, here: Here) -> ProgressRecord:
    """How far a run is; 404 before it has begun.

    Raises
    ------
    RefusedError
        404 before it has begun
    """
    found = here.shelf.progress(here.shelf.folder(run))
    if found is None:
        raise RefusedError(404, f"run {run} has not begun")
    return found


@router.get("/runs/{run}/events", operation_id="follow_run", responses={200: EVENTS})
async def follow_run(
    run: RunName, here: Here, last_event_id: Annotated[str | None, Header()] = None
) -> StreamingResponse:
    """Follow a run: event `moment` now and at every change, with marks of front and book; `gone` once deleted.

    Who follows it again, and says which moment came last (`Last-Event-ID`), is sent that no second time.
    """
    here.following.check(run)
    return StreamingResponse(here.following.events(run, last_event_id or None), media_type="text/event-stream")


@router.get("/runs/{run}/front", operation_id="get_front", responses={200: {"model": FrontRecord}})
async def get_front(run: RunName, here: Here, request: Request) -> Response:
    """The Pareto set of a run; 404 before there is one.

    Raises
    ------
    RefusedError
        404 before there is one
    """
    path = here.shelf.folder(run) / "pareto.json"
    if not path.is_file():
        raise RefusedError(404, f"run {run} has no layout yet")
    return json_file(request, *here.shelf.files.json(path, FrontRecord))


@router.get(
    "/runs/{run}/recommendation", operation_id="get_recommendation", responses={200: {"model": RecommendationRecord}}
)
async def get_recommendation(run: RunName, here: Here) -> Response:
    """The layouts of the front to begin with, a sentence for each; 404 before there is one."""
    found = await here.quick.do(work.recommendation, here.shelf.folder(run))
    return Response(found, media_type="application/json")


@router.get("/runs/{run}/front/figure", operation_id="draw_front", response_class=HTMLResponse)
async def draw_front(run: RunName, here: Here) -> str:
    """The front as drawings, a part of a page; each dot is a link that names its layout."""
    return await here.quick.do(work.front_figure, here.shelf.folder(run))


@router.get("/runs/{run}/project", operation_id="get_run_project", response_class=PlainTextResponse)
async def get_run_project(run: RunName, here: Here) -> str:
    """The project file of a run, as it was searched."""
    return here.shelf.files.record(here.shelf.folder(run) / "run.json", RunRecord).project_text


@router.get("/runs/{run}/report", operation_id="get_report", response_class=HTMLResponse)
async def get_report(run: RunName, here: Here) -> HTMLResponse:
    """The run as one page that opens without a network."""
    folder = here.shelf.folder(run)
    name = f'inline; filename="{run}.html"'
    return HTMLResponse(await here.slow.do(work.report, folder), headers={**FOREIGN_PAGE, "content-disposition": name})


@router.post("/runs/{run}/cancel", status_code=202, operation_id="cancel_run")
def cancel_run(run: RunName, here: Here) -> RunSummary:
    """Take a run out of the queue, or ask its search to end in order; what it found stays."""
    here.shelf.folder(run)
    here.queue.cancel(run)
    return _summary(here, run)


@router.post("/runs/{run}/resume", status_code=202, operation_id="resume_run")
def resume_run(run: RunName, limits: Limits, here: Here) -> RunSummary:
    """Go on with a run that has ended, or was cancelled or killed; minutes and trials come on top of what was done."""
    here.shelf.folder(run)
    within(limits, here)
    here.queue.resume(run, new_ticket(**limits.model_dump()))
    return _summary(here, run)


@router.delete("/runs/{run}", operation_id="delete_run")
def delete_run(run: RunName, here: Here) -> Removed:
    """Move a run that does not run to the removed ones; `restore` brings it back."""
    here.shelf.folder(run)
    return Removed(removed=here.queue.remove(run))


@router.get("/removed", operation_id="list_removed")
def list_removed(here: Here) -> list[str]:
    """Names of the removed runs."""
    return here.queue.removed()


@router.post("/removed/{run}/restore", operation_id="restore_run")
def restore_run(run: RunName, here: Here) -> Restored:
    """Bring a removed run back."""
    return Restored(run=here.queue.restore(run))


def within(limits: Limits, here: Parts) -> None:
    """Refuse what one run may not ask for here.

    Raises
    ------
    RefusedError
        422 with a line for each limit that goes beyond
    """
    most = {"minutes": here.settings.minutes_most, "idle_minutes": here.settings.minutes_most}
    most["workers"] = here.settings.workers_most
    found = [
        Finding(path=name, message=f"{name}: at most {high:g} on this service, but got {value:g}")
        for name, high in most.items()
        if (value := getattr(limits, name)) is not None and value > high
    ]
    if found:
        raise RefusedError(422, "more than this service takes on", found)
