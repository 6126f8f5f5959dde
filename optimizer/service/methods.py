"""Which methods an address takes (RFC 9110, sections 9.1, 9.3.7 and 10.2.1)."""

from collections.abc import Sequence

from starlette.routing import BaseRoute, Match, Mount
from starlette.types import Scope

OFFERED = ("GET", "POST", "DELETE")


def allowed(routes: Sequence[BaseRoute], scope: Scope) -> str:
    """The methods that an address takes, for the header field Allow: whoever answers GET answers HEAD."""
    found = [method for method in OFFERED if scope["path"] == "*" or _takes(routes, scope, method)]
    head = ["HEAD"] if "GET" in found else []
    return ", ".join([*found, *head, "OPTIONS"])


def _takes(routes: Sequence[BaseRoute], scope: Scope, method: str) -> bool:
    asked = {**scope, "method": method, "root_path": ""}  # the whole address, also of what is mounted
    fitting = [route for route in routes if route.matches(asked)[0] is Match.FULL]
    return any(method == "GET" or not isinstance(route, Mount) for route in fitting)
