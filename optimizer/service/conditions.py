"""Conditions that a request may set on what it asks for (RFC 9110, sections 13.1 and 13.2.2)."""

import os
from email.utils import formatdate, parsedate_to_datetime

from fastapi.responses import FileResponse
from starlette.datastructures import Headers
from starlette.responses import Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

from optimizer.service.refusals import RefusedError

CHANGED = "it is not, or no longer, what the request makes a condition"


def not_needed(headers: Headers, tag: str, changed: float | None = None) -> Response | None:
    """The answer to a GET whose sender has what it asks for; None where the content is due.

    Parameters
    ----------
    headers : of the request
    tag : of what is asked for, quoted; it changes whenever that does
    changed : when it changed last [s since 1970], where that is told

    Raises
    ------
    RefusedError
        412 where the request is for another state of it
    """
    matching, others = (", ".join(headers.getlist(name)) for name in ("if-match", "if-none-match"))
    if matching:
        if not _named(matching, tag):
            raise RefusedError(412, CHANGED)
    elif _since(headers, "if-unmodified-since", changed) is False:
        raise RefusedError(412, CHANGED)
    same = _named(others.replace("W/", ""), tag) if others else _since(headers, "if-modified-since", changed)
    return Response(status_code=304, headers=told(tag, changed)) if same else None


def told(tag: str, changed: float | None) -> dict[str, str]:
    """The header fields of an answer that conditions may go by."""
    return {"etag": tag} | ({} if changed is None else {"last-modified": formatdate(changed, usegmt=True)})


def _named(listed: str, tag: str) -> bool:
    return listed.strip() == "*" or tag in (each.strip() for each in listed.split(","))


def _since(headers: Headers, name: str, changed: float | None) -> bool | None:
    """Whether nothing changed since a time that the request names; None where it names none, or nobody knows."""
    try:
        return None if changed is None else int(changed) <= parsedate_to_datetime(headers[name]).timestamp()
    except (KeyError, ValueError, OverflowError):
        return None


class PageFiles(StaticFiles):
    """Files of the page, under the conditions of each request."""

    def file_response(
        self, full_path: str | os.PathLike[str], stat_result: os.stat_result, scope: Scope, status_code: int = 200
    ) -> Response:
        """One of them, or that it is not needed."""
        found = FileResponse(full_path, status_code=status_code, stat_result=stat_result)
        return not_needed(Headers(scope=scope), found.headers["etag"], stat_result.st_mtime) or found
