"""Of the API: studies of a layout or a run, each a piece of work in the workshop: tolerance, prices, ways out."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from optimizer.records.fingerings import FingeringsRecord
from optimizer.records.fits import ReliefsRecord
from optimizer.records.prices import PricesRecord
from optimizer.records.tolerance import ToleranceRecord
from optimizer.service import studies
from optimizer.service.api_beginnings import BegunProject
from optimizer.service.api_projects import HandName, HandText
from optimizer.service.parts import Here, LayoutName, Parts, RunName, operations

router = operations("studies")
SHARE = 0.5
"""Of the time that work may take, so much goes to prices and ways out: those begun by then still have to end."""


class WhatDeviates(BaseModel):
    """How a layout's tolerance is drawn.

    samples : instruments drawn at random; within_cents : what all main notes should keep; worth_cents : least cents
    per 0.1 mm for which a hole is worth reaming
    """

    model_config = ConfigDict(extra="forbid")

    samples: Annotated[int, Field(ge=20, le=10_000)] = 400
    seed: Annotated[int, Field(ge=0, lt=2**32)] = 1
    within_cents: Annotated[float, Field(gt=0, le=1200)] = 10.0
    worth_cents: Annotated[float, Field(gt=0, le=100)] = 0.5


class WhichFingerings(BaseModel):
    """Which fingerings are looked for: of these written notes, or of all; how far beside them; how far off at most."""

    model_config = ConfigDict(extra="forbid")

    notes: Annotated[list[Annotated[str, Field(max_length=12)]], Field(max_length=60)] = []
    off_cents: Annotated[float, Field(ge=-100, le=100)] = 0.0
    within_cents: Annotated[float, Field(ge=1, le=50)] = 15.0
    most: Annotated[int, Field(ge=1, le=100)] = 12


class NewLines(BaseModel):
    """Lines for the chart, as the finder tells them."""

    model_config = ConfigDict(extra="forbid")

    lines: Annotated[
        list[Annotated[str, Field(min_length=5, max_length=200, pattern=r'^[^\r\n"\\]+$')]],
        Field(min_length=1, max_length=40),
    ]


class ForWhichHand(BaseModel):
    """The hand to find ways out for; left out: the project's own."""

    model_config = ConfigDict(extra="forbid")

    hand: HandName = None
    hand_text: HandText = None


@router.post("/runs/{run}/layouts/{layout}/tolerance", operation_id="tolerate_layout")
async def tolerate_layout(run: RunName, layout: LayoutName, asked: WhatDeviates, here: Here) -> ToleranceRecord:
    """What making and playing do to a layout's notes, and which holes to print under size and ream."""
    draws = studies.Draws(asked.samples, asked.seed, asked.within_cents, asked.worth_cents)
    return await here.slow.do(studies.tolerance_of, here.shelf.layout(run, layout), draws)


@router.post("/runs/{run}/layouts/{layout}/prices", operation_id="price_layout")
async def price_layout(run: RunName, layout: LayoutName, here: Here) -> PricesRecord:
    """What each limit of a layout costs, the dearest first; what there is no time for is told as not re-solved."""
    folder, file = here.shelf.folder(run), here.shelf.layout(run, layout)
    return await here.slow.do(studies.prices, folder, file, _seconds(here))


@router.post("/runs/{run}/layouts/{layout}/fingerings", operation_id="finger_layout")
async def finger_layout(run: RunName, layout: LayoutName, asked: WhichFingerings, here: Here) -> FingeringsRecord:
    """All ways to finger notes on a layout that hands can hold, the best first; each as a line for the chart."""
    folder, file = here.shelf.folder(run), here.shelf.layout(run, layout)
    sought = studies.Sought(tuple(asked.notes), asked.off_cents, asked.within_cents, asked.most)
    return await here.slow.do(studies.fingerings, folder, file, sought)


@router.post("/runs/{run}/chart-lines", operation_id="add_chart_lines")
async def add_chart_lines(run: RunName, asked: NewLines, here: Here) -> BegunProject:
    """The text of a run's project with more lines in its chart, to look at and to submit; the run keeps its own."""
    return BegunProject(project=await here.quick.do(studies.with_added, here.shelf.folder(run), asked.lines))


@router.post("/runs/{run}/reliefs", operation_id="relieve_run")
async def relieve_run(run: RunName, asked: ForWhichHand, here: Here) -> ReliefsRecord:
    """Single ways out of the limits of a hand that bind in a run's project, by cost; kept beside the run."""
    given = here.settings.projects, here.shelf.folder(run), asked.hand, asked.hand_text
    return await here.slow.do(studies.ways_out, *given, _seconds(here))


def _seconds(here: Parts) -> float:
    return SHARE * here.settings.work_seconds
