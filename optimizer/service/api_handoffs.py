"""Of the API: a layout handed over to its maker, and the test coupon of its printer: ZIP archives, made in the workshop
while one waits."""

from typing import Annotated, Any, Literal

from fastapi import Response
from pydantic import BaseModel, ConfigDict, Field

from optimizer.service import handoffs
from optimizer.service.parts import Here, LayoutName, RunName, operations

router = operations("layouts")
PaperName = Literal["a4", "a3", "letter", "tabloid"]
KindName = Annotated[str, Field(pattern="^[a-z]{1,20}$")]


AN_ARCHIVE: dict[str, Any] = {
    "response_class": Response,
    "responses": {200: {"content": {"application/zip": {}}}},
}


class WhatToHandOver(BaseModel):
    """What a hand-off holds. only: these kinds of files, all that can be written where it is left out; states: in which
    sizes pieces are drawn, `ream` being printed with holes narrower, to be reamed out to pitch; paper: of the
    sheets."""

    model_config = ConfigDict(extra="forbid")

    only: Annotated[list[KindName], Field(max_length=20)] = []
    states: Annotated[list[Literal["finished", "printed", "ream"]], Field(min_length=1, max_length=3)] = ["ream"]
    paper: PaperName = "a4"


class WhatCoupon(BaseModel):
    """A test coupon. prints: how many its table of readings has lines for; paper: of its drawing."""

    model_config = ConfigDict(extra="forbid")

    prints: Annotated[int, Field(ge=1, le=9)] = 3
    paper: PaperName = "a4"


class KindOfFiles(BaseModel):
    """A kind of files of a hand-off: what it is called in `only`, what it is, and what this service lacks for it, empty
    where that is nothing."""

    name: str
    told: str
    lacking: str


@router.get("/handoff-kinds", operation_id="list_handoff_kinds")
def list_handoff_kinds() -> list[KindOfFiles]:
    """Every kind of files that a hand-off may hold."""
    from optimizer.handoff.kinds import KINDS

    return [KindOfFiles(name=name, told=kind.told, lacking=kind.lacking) for name, kind in KINDS.items()]


@router.post("/runs/{run}/layouts/{layout}/handoff", operation_id="hand_over_layout", **AN_ARCHIVE)
async def hand_over_layout(run: RunName, layout: LayoutName, asked: WhatToHandOver, here: Here) -> Response:
    """Files for CAD, printer and bench: tables, lists, templates, sheets, shapes, and a page to begin with."""
    name = f"{run}-{layout}-handoff"
    of = here.shelf.layout(run, layout)
    async with here.book.desk() as place:
        packed = await here.drawing.do(handoffs.packed, of, place, name, asked.only, asked.states, asked.paper)
    return _archive(name, packed)


@router.post("/runs/{run}/coupon", operation_id="make_coupon", **AN_ARCHIVE)
async def make_coupon(run: RunName, asked: WhatCoupon, here: Here) -> Response:
    """The test coupon of a run's printer: pieces to print, a drawing of what is where, a table to fill in."""
    name = f"{run}-coupon"
    of = here.shelf.folder(run)
    async with here.book.desk() as place:
        packed = await here.drawing.do(handoffs.packed_coupon, of, place, name, asked.prints, asked.paper)
    return _archive(name, packed)


def _archive(name: str, packed: bytes) -> Response:
    headers = {"content-disposition": f'attachment; filename="{name}.zip"'}
    return Response(packed, media_type="application/zip", headers=headers)
