"""Of the API: a layout handed over to its maker, one ZIP archive, made in the workshop while one waits."""

from typing import Annotated, Literal

from fastapi import Response
from pydantic import BaseModel, ConfigDict, Field

from optimizer.service import handoffs
from optimizer.service.parts import Here, LayoutName, RunName, operations

router = operations("layouts")
KindName = Annotated[str, Field(pattern="^[a-z]{1,20}$")]


class WhatToHandOver(BaseModel):
    """What a hand-off holds. only: these kinds of files, all that can be written where it is left out; states: in which
    sizes pieces are drawn, `ream` being printed with holes narrower, to be reamed out to pitch; paper: of the
    sheets."""

    model_config = ConfigDict(extra="forbid")

    only: Annotated[list[KindName], Field(max_length=20)] = []
    states: Annotated[list[Literal["finished", "printed", "ream"]], Field(min_length=1, max_length=3)] = ["ream"]
    paper: Literal["a4", "a3", "letter", "tabloid"] = "a4"


@router.post(
    "/runs/{run}/layouts/{layout}/handoff",
    operation_id="hand_over_layout",
    response_class=Response,
    responses={200: {"content": {"application/zip": {}}}},
)
async def hand_over_layout(run: RunName, layout: LayoutName, asked: WhatToHandOver, here: Here) -> Response:
    """Files for CAD, printer and bench: tables, lists, templates, sheets, shapes, and a page to begin with."""
    name = f"{run}-{layout}-handoff"
    of = here.shelf.layout(run, layout)
    with here.book.desk() as place:
        packed = await here.drawing.do(handoffs.packed, of, place, name, asked.only, asked.states, asked.paper)
    headers = {"content-disposition": f'attachment; filename="{name}.zip"'}
    return Response(packed, media_type="application/zip", headers=headers)
