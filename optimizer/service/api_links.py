"""Of the API document: which operation may follow which, by what an answer and its request hold (OpenAPI: links)."""

from typing import Any, NamedTuple

RUN, LAYOUT, ENTRY = "$request.path.run", "$request.path.layout", "$request.path.entry"
ID, FIRST = "$response.body#/id", "$response.body#/runs/0/id"


class Link(NamedTuple):
    """An operation that may follow an answer of a status; its parameters or its body, from what that holds."""

    after: str
    status: int
    to: str
    parameters: dict[str, str] | None = None
    body: str | None = None


OF_A_RUN = ("get_run", "get_progress", "get_front", "get_recommendation", "list_files", "list_by_hand", "list_book")
OF_A_LAYOUT = ("get_layout", "hear_layout", "move_layout", "settle_layout", "keep_layout", "hand_over_layout",
               "predict_layout", "get_bench_sheet", "measure")  # fmt: skip

LINKS = (
    Link("begin_project", 200, "check_project", body="$response.body"),
    Link("begin_project", 200, "submit_run", body="$response.body"),
    *(Link("submit_run", 201, to, {"run": ID}) for to in (*OF_A_RUN, "cancel_run", "resume_run", "delete_run")),
    *(Link("present", 201, to, {"run": "$response.body#/run/id"}) for to in OF_A_RUN),
    *(Link("list_runs", 200, to, {"run": FIRST}) for to in (*OF_A_RUN, "get_run_project", "make_coupon")),
    *(Link("get_front", 200, to, {"run": RUN, "layout": "$response.body#/layouts/0/id"}) for to in OF_A_LAYOUT),
    *(Link("get_layout", 200, to, {"run": RUN, "layout": LAYOUT}) for to in OF_A_LAYOUT[1:]),
    *(Link("keep_layout", 201, to, {"run": RUN, "layout": ID}) for to in OF_A_LAYOUT),
    *(Link(to, 200, "end_sitting", {"sitting": "$request.body#/sitting"}) for to in ("move_layout", "settle_layout")),
    *(Link("measure", 201, to, {"run": RUN, "entry": ID}) for to in
      ("get_entry", "get_entry_record", "assign", "fit", "take_out_entry")),
    *(Link("fit", 201, to, {"run": RUN, "entry": ID}) for to in ("get_entry", "get_learned", "correct")),
    *(Link("correct", 201, to, {"run": RUN, "entry": ID}) for to in ("get_entry", "get_correction_page", "carry_out")),
    Link("carry_out", 200, "get_entry", {"run": RUN, "entry": ENTRY}),
    Link("extend", 201, "get_extension", {"run": ID}),
    Link("delete_run", 200, "restore_run", {"run": "$response.body#/removed"}),
    Link("restore_run", 200, "get_run", {"run": "$response.body#/run"}),
)  # fmt: skip


def linked(document: dict[str, Any]) -> dict[str, Any]:
    """The API document, with the links in it."""
    known = {each["operationId"]: each for path in document["paths"].values() for each in path.values()}
    for link in LINKS:
        told: dict[str, Any] = {"operationId": link.to, "parameters": link.parameters or {}}
        if link.body is not None:
            told["requestBody"] = link.body
        known[link.after]["responses"][str(link.status)].setdefault("links", {})[link.to] = told
    return document
