"""What is wrong with a request, as RFC 9457 problem details with a line for each thing to mend."""

import errno
import os
from collections.abc import Iterable
from typing import Any

from pydantic import BaseModel, Field
from starlette.responses import Response

from optimizer.project.findings import Finding as ProjectFinding

MEDIA_TYPE = "application/problem+json"
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=()",
    "cache-control": "private, no-cache",
}
"""What every answer carries."""

TITLES = {
    400: "the request cannot be read",
    401: "a token is needed",
    403: "refused",
    404: "there is no such thing",
    405: "this cannot be done here",
    408: "the request took too long to arrive",
    409: "not in its present state",
    412: "changed meanwhile",
    413: "too large",
    414: "too long",
    415: "not read here",
    421: "not for this host",
    422: "something to mend",
    429: "too often",
    431: "too large",
    500: "a fault of the service",
    501: "not known here",
    503: "busy",
    504: "it took too long",
    505: "not spoken here",
}


class Finding(BaseModel):
    """One thing to mend: key path in the project or request, line of the project file, sentence."""

    path: str = Field(examples=["holes.h05.diameter_mm"])
    line: int | None = None
    message: str


class Problem(BaseModel):
    """Problem details (RFC 9457); `problems` is empty where `detail` says all."""

    type: str = "about:blank"
    title: str
    status: int
    detail: str
    problems: list[Finding] = Field(default_factory=list)


class RefusedError(Exception):
    """A request that is not served; becomes a `Problem`."""

    def __init__(self, status: int, detail: str, problems: Iterable[Finding] = ()) -> None:
        super().__init__(detail)
        self.status = status
        self.detail = detail
        self.problems = list(problems)

    def __reduce__(self) -> tuple[type["RefusedError"], tuple[int, str, list[Finding]]]:
        return RefusedError, (self.status, self.detail, self.problems)


def out_of_reach(error: OSError) -> RefusedError:
    """The refusal of what the system does not let the service read or write."""
    if isinstance(error, FileNotFoundError):
        return RefusedError(404, "what was asked for went in the meantime")
    return RefusedError(503, f"the service cannot get at its files: {os.strerror(error.errno or errno.EIO)}")


def problem_response(
    status: int, detail: str, problems: Iterable[Finding] = (), headers: dict[str, str] | None = None
) -> Response:
    """The response that carries a problem."""
    title = TITLES.get(status, "refused")
    body = Problem(title=title, status=status, detail=detail, problems=list(problems))
    return Response(body.model_dump_json(), status, headers, MEDIA_TYPE)


DOCUMENTED: dict[int | str, dict[str, Any]] = {
    code: {"description": "Problem details (RFC 9457)", "model": Problem, "content": {MEDIA_TYPE: {}}}
    for code in ("4XX", "5XX")
}
"""For the OpenAPI document: every operation may refuse."""


def told(findings: Iterable[ProjectFinding]) -> list[Finding]:
    """What is to be mended in a project or a request, as it is answered."""
    return [Finding(path=each.path, line=each.line, message=each.sentence) for each in findings]
