"""Of the API: single layouts, and layouts side by side."""

from typing import Annotated

from fastapi import Query, Request, Response
from fastapi.responses import HTMLResponse
from pydantic import BaseModel, ConfigDict, Field

from optimizer.analysis.comparison import MARKS
from optimizer.project.allowed_ranges import A4_HZ, AIR_DEGC
from optimizer.records.comparison import ComparisonRecord
from optimizer.records.layout import LayoutRecord
from optimizer.records.prediction import PredictionRecord
from optimizer.records.sound import SoundRecord
from optimizer.service import work
from optimizer.service.api_projects import HandName, HandText
from optimizer.service.parts import FOREIGN_PAGE, Here, LayoutName, Parts, RunName, json_file, operations
from optimizer.service.refusals import RefusedError
from optimizer.service.shelf import LAYOUT_NAME, RUN_NAME

router = operations("layouts")
DegC = Annotated[float | None, Field(ge=AIR_DEGC.least, le=AIR_DEGC.most, description="degrees Celsius")]
ToCompare = Annotated[
    list[Annotated[str, Field(pattern=f"^{RUN_NAME.pattern}(/{LAYOUT_NAME.pattern})?$")]],
    Query(min_length=2, max_length=len(MARKS), description="RUN/LAYOUT, or RUN for its best-tuned one and its front"),
]


class OtherConditions(BaseModel):
    """What to predict a layout for; left out: as it was designed."""

    model_config = ConfigDict(extra="forbid")

    reed_degC: DegC = None
    bell_degC: DegC = None
    a4_hz: Annotated[float | None, Field(ge=A4_HZ.least, le=A4_HZ.most, description="pitch of A4 [Hz]")] = None
    hand: HandName = None
    hand_text: HandText = None


@router.get("/runs/{run}/layouts/{layout}", operation_id="get_layout", responses={200: {"model": LayoutRecord}})
async def get_layout(run: RunName, layout: LayoutName, here: Here, request: Request) -> Response:
    """One layout in full."""
    return json_file(request, *here.shelf.files.json(here.shelf.layout(run, layout), LayoutRecord))


@router.get("/runs/{run}/layouts/{layout}/sheet", operation_id="draw_layout", response_class=HTMLResponse)
async def draw_layout(run: RunName, layout: LayoutName, here: Here) -> str:
    """A layout drawn to scale and tabled, a part of a page."""
    return await here.quick.do(work.sheet, here.shelf.layout(run, layout))


@router.get("/runs/{run}/layouts/{layout}/sound", operation_id="hear_layout")
async def hear_layout(run: RunName, layout: LayoutName, here: Here) -> SoundRecord:
    """A layout's notes as pitches and levels of partials, to play them with: computed pitches, an invented timbre."""
    return await here.quick.do(work.sound, here.shelf.layout(run, layout))


@router.post("/runs/{run}/layouts/{layout}/prediction", operation_id="predict_layout")
async def predict_layout(run: RunName, layout: LayoutName, asked: OtherConditions, here: Here) -> PredictionRecord:
    """A layout's notes in other air or at another pitch, and how it lies under another hand."""
    wanted = work.Asked(asked.reed_degC, asked.bell_degC, asked.a4_hz, asked.hand, asked.hand_text)
    return await here.slow.do(work.predicted, here.settings.projects, here.shelf.layout(run, layout), wanted)


@router.get("/comparison", operation_id="compare", responses={200: {"model": ComparisonRecord}})
async def compare(of: ToCompare, here: Here) -> Response:
    """Layouts against the first of them: notes, holes, reach, keys, pieces, mass, what binds, and fronts."""
    record, _ = await here.quick.do(work.comparison, [layout_named(here, each) for each in of])
    return Response(record, media_type="application/json")


@router.get("/comparison/page", operation_id="compare_as_page", response_class=HTMLResponse)
async def compare_as_page(of: ToCompare, here: Here) -> HTMLResponse:
    """The same as one page that opens without a network."""
    _, page = await here.quick.do(work.comparison, [layout_named(here, each) for each in of])
    return HTMLResponse(page, headers=FOREIGN_PAGE)


def layout_named(here: Parts, name: str) -> work.Named:
    """A layout by `RUN/LAYOUT`, or a run's best-tuned one by `RUN`.

    Raises
    ------
    RefusedError
        404 when there is no such run or layout, or none yet
    """
    run, _, layout = name.partition("/")
    folder = here.shelf.folder(run)
    if layout:
        return work.Named(name, here.shelf.layout(run, layout), None)
    front = here.shelf.front(folder)
    if front is None or not front.layouts:
        raise RefusedError(404, f"run {run} has no layout yet")
    best = front.best_tuned.id
    return work.Named(f"{run}/{best}", here.shelf.layout(run, best), folder)
