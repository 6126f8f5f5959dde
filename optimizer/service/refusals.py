"""What is wrong with a request, as RFC 9457 problem details with a line for each thing to mend."""

import re
from collections.abc import Iterable
from typing import Any

from pydantic import BaseModel, Field
from starlette.responses import Response

MEDIA_TYPE = "application/problem+json"
TITLES = {
    400: "the request cannot be read",
    401: "a token is needed",
    403: "refused",
    404: "there is no such thing",
    405: "this cannot be done here",
    408: "the request took too long to arrive",
    409: "not in its present state",
    413: "too large",
    415: "not JSON",
    421: "not for this host",
    422: "something to mend",
    500: "a fault of the service",
    503: "busy",
    504: "it took too long",
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

_KEY = re.compile(r"^([A-Za-z_][\w-]*(?:\.[\w-]+)*)(?=[:,]| \()")
_LINE = re.compile(r"\(at line (\d+),")
_HEADER = re.compile(r"^\s*\[\[?\s*([\w.\"'-]+)\s*\]\]?")
_ASSIGNED = re.compile(r"^\s*([\w\"'-]+(?:\.[\w\"'-]+)*)\s*=")
_CHART_LINE = re.compile(r"^chart\.lines, line (\d+) ")


def findings(text: str, sentences: Iterable[str]) -> list[Finding]:
    """Sentences about a project's text, each with its key path and, where it can be told, its line."""
    where, lines = _lines_of_keys(text), text.split("\n")
    return [_finding(sentence, where, lines) for sentence in sentences]


def _finding(sentence: str, where: dict[str, int], lines: list[str]) -> Finding:
    at_line = _LINE.search(sentence) if sentence.startswith("not valid TOML") else None
    if at_line:
        return Finding(path="", line=int(at_line[1]), message=sentence)
    key = _KEY.match(sentence)
    if key is None:
        return Finding(path="", message=sentence)
    path = key[1]
    line = next((where[part] for part in _prefixes(path) if part in where), None)
    in_chart = _CHART_LINE.match(sentence)
    if in_chart and line is not None:
        opens_a_line = lines[line - 1].rstrip().endswith(('"""', "'''"))
        line += int(in_chart[1]) - (0 if opens_a_line else 1)
    return Finding(path=path, line=line, message=sentence)


def _prefixes(path: str) -> list[str]:
    """The path, then what it lies in, longest first."""
    parts = path.split(".")
    return [".".join(parts[:count]) for count in range(len(parts), 0, -1)]


def _lines_of_keys(text: str) -> dict[str, int]:
    """Line, counted from 1, on which each key or table of a TOML text is first named."""
    found: dict[str, int] = {}
    table, quoted = "", ""
    for number, line in enumerate(text.split("\n"), start=1):
        if quoted:
            quoted = "" if line.count(quoted) % 2 else quoted
            continue
        header, key = _HEADER.match(line), _ASSIGNED.match(line)
        if header:
            table = header[1].replace('"', "").replace("'", "")
            found.setdefault(table, number)
        elif key:
            name = key[1].replace('"', "").replace("'", "")
            found.setdefault(f"{table}.{name}" if table else name, number)
            quoted = next((mark for mark in ('"""', "'''") if line.count(mark) % 2), "")
    return found
