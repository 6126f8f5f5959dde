"""What every request passes first: host, origin, token, size and time; and the headers that every answer carries.

The body is read whole first, and what is still sent after a refusal is taken in: a connection closed on unread data is
reset, and the answer lost.
"""

import asyncio
import ipaddress
import re
from contextlib import suppress

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from optimizer.service import tokens
from optimizer.service.guesses import Guesses
from optimizer.service.refusals import HEADERS, RefusedError, problem_response
from optimizer.service.settings import LOOPBACK, Settings

API = "/api/"
OPEN = frozenset({"/api/v1/session"})
"""Of the API, what needs no token: to give it."""

OPEN_BYTES_MOST = 10_000
"""Of a body that is read without a token."""

UNREAD = frozenset({b"cookie", b"range", b"if-range"})
"""Header fields that go no further: nothing needs them, and to read them takes time. What is served is served whole."""

HOST = re.compile(r"(?:\[([0-9A-Fa-f:.]+)\]|([A-Za-z0-9._-]+))(?::[0-9]{0,5})?")
"""A name or an address, and a port (RFC 9110, 7.2; RFC 3986, 3.2.2): nobody before it, nothing after it."""

LINGER_SECONDS = 1.0
SAFE = frozenset({"GET", "HEAD", "OPTIONS"})


class Guard:
    """ASGI middleware around the whole service."""

    def __init__(self, app: ASGIApp, settings: Settings, guesses: Guesses) -> None:
        self.app = app
        self.settings = settings
        self.guesses = guesses
        self.names = {*LOOPBACK, settings.host, *settings.names}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve a request that passes; answer any other with a problem."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return
        sent = _WithHeaders(send, scope["method"] == "HEAD")
        try:
            headers = Headers(scope=scope)
            self._check(scope, headers)
            await self._admit(scope, headers)
            body = await _arrived(receive, self._bytes_most(scope), self.settings.body_seconds)
            if body is not None:
                await self.app(_handed_on(scope), _Again(body, receive), sent)
        except RefusedError as refusal:
            if sent.begun:
                raise
            await _refuse(refusal, receive, sent)

    def _check(self, scope: Scope, headers: Headers) -> None:
        host = headers.get("host", "")
        if not self._known(host):
            raise RefusedError(421, "this service does not go by that host name; start it with --name to allow one")
        if scope["method"] not in SAFE:
            origin = headers.get("origin")
            if origin is not None and origin not in (f"http://{host}", f"https://{host}"):
                raise RefusedError(403, "this request comes from a page of another site")
            if headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
                raise RefusedError(403, "this request comes from a page of another site")
        length, most = headers.get("content-length", "0"), self._bytes_most(scope)
        if not length.isdecimal() or len(length) > 15 or int(length) > most:
            raise RefusedError(413, f"a request may hold at most {most} bytes")

    async def _admit(self, scope: Scope, headers: Headers) -> None:
        """Let a session or the token by."""
        digest = self.settings.token_digest
        if digest is None or not _closed(scope) or tokens.session_fits(_session(headers), digest):
            return
        kind, _, given = headers.get("authorization", "").partition(" ")
        if kind.lower() != "bearer" or not given.strip() or not await self.guesses.right(given.strip(), sender(scope)):
            raise RefusedError(401, "this service asks for its token: `Authorization: Bearer TOKEN`")

    def _bytes_most(self, scope: Scope) -> int:
        most = self.settings.body_bytes_most
        return most if _closed(scope) else min(most, OPEN_BYTES_MOST)

    def _known(self, host: str) -> bool:
        """Whether a Host header is one of ours: a name that was allowed, or a plain address.

        A plain address cannot be rebound: a page that was loaded from it is ours.
        """
        found = HOST.fullmatch(host)
        if found is None:
            return False
        name = (found[1] or found[2]).lower()
        if name in self.names:
            return True
        try:
            ipaddress.ip_address(name)
        except ValueError:
            return False
        return True


def _closed(scope: Scope) -> bool:
    """Whether an address asks for the token, where there is one."""
    path: str = scope["path"]
    return path.startswith(API) and path not in OPEN


def _handed_on(scope: Scope) -> Scope:
    """A request as what stands behind the guard sees it: HEAD is GET, whose answer is cut short."""
    method = "GET" if scope["method"] == "HEAD" else scope["method"]
    return {**scope, "method": method, "headers": [each for each in scope["headers"] if each[0] not in UNREAD]}


def sender(scope: Scope) -> str:
    """The address that a request comes from, as a proxy on this machine gives it; empty where it is not known."""
    client = scope.get("client")
    return client[0] if client else ""


def _session(headers: Headers) -> str:
    """The session in a browser's cookies (RFC 6265, section 4.2.1); empty where there is none."""
    pairs = (pair.strip().partition("=") for pair in headers.get("cookie", "").split(";"))
    return next((value for name, _, value in pairs if name == tokens.COOKIE), "")


async def _refuse(refusal: RefusedError, receive: Receive, send: Send) -> None:
    """Answer before a body has come; then take in what still comes for a while.

    A connection that is closed on data unread is reset, and the answer may be lost with it (RFC 9112, section 9.6).
    """
    headers = {"www-authenticate": "Bearer"} if refusal.status == 401 else {}
    if refusal.status in (408, 413):
        headers["connection"] = "close"
    answer = problem_response(refusal.status, refusal.detail, refusal.problems, headers)
    await send({"type": "http.response.start", "status": answer.status_code, "headers": answer.raw_headers})
    await send({"type": "http.response.body", "body": answer.body, "more_body": True})
    with suppress(TimeoutError):
        async with asyncio.timeout(LINGER_SECONDS):
            while (await receive()).get("more_body", False):
                pass
    await send({"type": "http.response.body", "body": b""})


class _WithHeaders:
    """Sends answers with the headers that they all carry, unless they bring their own; their heads alone for HEAD."""

    def __init__(self, send: Send, head_alone: bool) -> None:
        self._send = send
        self._head_alone = head_alone
        self.begun = False

    async def __call__(self, message: Message) -> None:
        if self._head_alone and self.begun:
            return
        if message["type"] == "http.response.start":
            self.begun = True
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
            if "accept-ranges" in headers:
                headers["accept-ranges"] = "none"
        await self._send(message)
        if self._head_alone:
            await self._send({"type": "http.response.body", "body": b""})


async def _arrived(receive: Receive, most: int, seconds: float) -> bytes | None:
    """A request's whole body, within its limits of size and time; None when its sender left.

    Read here, for what is raised while the application reads comes out of it as a fault in the request's JSON.
    """
    body = bytearray()
    try:
        async with asyncio.timeout(seconds):
            while True:
                message = await receive()
                if message["type"] == "http.disconnect":
                    return None
                body += message.get("body", b"")
                if len(body) > most:
                    raise RefusedError(413, f"a request may hold at most {most} bytes")
                if not message.get("more_body", False):
                    return bytes(body)
    except TimeoutError:
        raise RefusedError(408, f"the request did not arrive within {seconds:g} s") from None


class _Again:
    """Hands over a body that has arrived, then waits for the end of the connection."""

    def __init__(self, body: bytes, receive: Receive) -> None:
        self._body: bytes | None = body
        self._receive = receive

    async def __call__(self) -> Message:
        if self._body is None:
            return await self._receive()
        body, self._body = self._body, None
        return {"type": "http.request", "body": body, "more_body": False}
