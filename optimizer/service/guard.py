"""What every request passes first: host, origin, token, size and time; and the headers that every answer carries.

The body is read whole first, a large one into a file without a name. What is still sent after a refusal is taken in: a
connection closed on unread data is reset, and the answer lost.
"""

import asyncio
import ipaddress
import re
from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext, suppress
from tempfile import SpooledTemporaryFile
from typing import IO, Any, NamedTuple

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from optimizer.service import tokens
from optimizer.service.guesses import Guesses
from optimizer.service.places import Places
from optimizer.service.refusals import HEADERS, RefusedError, out_of_reach, problem_response
from optimizer.service.settings import LOOPBACK, Settings
from optimizer.service.workshop import GONE

API = "/api/"
OPEN = frozenset({"/api/v1/session"})
"""Of the API, what needs no token: to give it."""

OPEN_BYTES_MOST = 10_000
"""Of a body that is read without a token."""

UNREAD = frozenset({b"cookie", b"range", b"if-range"})
"""Header fields that go no further: nothing needs them, and to read them takes time. What is served is served whole."""

HOST = re.compile(r"(?:\[([0-9A-Fa-f:.]+)\]|([A-Za-z0-9._-]+))(?::[0-9]{0,5})?")
"""A name or an address, and a port (RFC 9110, 7.2; RFC 3986, 3.2.2): nobody before it, nothing after it."""

UPLOAD = re.compile(r"/api/v1/runs/[^/]+/layouts/[^/]+/book")
"""Addresses that take a file as it is; anything else takes JSON."""

JSON = "application/json"
PART_BYTES = 65_536
IN_MEMORY_BYTES = 1_000_000

LINGER_SECONDS = 1.0
SAFE = frozenset({"GET", "HEAD", "OPTIONS"})


class Allowance(NamedTuple):
    """How large a body may be, how long it may take to arrive [s], and what is said of a larger one."""

    most: int
    seconds: float
    said: str


class Guard:
    """ASGI middleware around the whole service."""

    def __init__(self, app: ASGIApp, settings: Settings, guesses: Guesses) -> None:
        self.app = app
        self.settings = settings
        self.guesses = guesses
        self.names = {*LOOPBACK, settings.host, *settings.names}
        self._uploads = Places(settings.uploads_most, "files are arriving")

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
            with self._counted(scope), SpooledTemporaryFile(IN_MEMORY_BYTES) as body:
                size = await _arrived(receive, self._allowance(scope), body)
                unread = _unread(scope, headers) if size else None
                if unread is not None:
                    await problem_response(415, unread[0], headers=unread[1])(scope, receive, sent)
                elif size is not None:
                    await self._answer(_handed_on(scope), _Again(body, size, receive), sent)
        except RefusedError as refusal:
            if sent.begun:
                raise
            await _refuse(refusal, receive, sent)
        except OSError as error:  # no room for the body
            if sent.begun:
                raise
            await _refuse(out_of_reach(error), receive, sent)

    async def _answer(self, scope: Scope, arrived: "_Again", sent: "_WithHeaders") -> None:
        """Have a request answered; once its sender leaves, what is worked out for it apart is given up."""
        gone = asyncio.Event()
        GONE.set(gone)
        leaving = asyncio.create_task(arrived.left(gone))
        try:
            await self.app(scope, arrived, sent)
        finally:
            leaving.cancel()

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
        length, allowed = headers.get("content-length", "0"), self._allowance(scope)
        if not length.isdecimal() or len(length) > 15 or int(length) > allowed.most:
            raise RefusedError(413, allowed.said)

    async def _admit(self, scope: Scope, headers: Headers) -> None:
        """Let a session or the token by."""
        digest = self.settings.token_digest
        if digest is None or not _closed(scope) or tokens.session_fits(_session(headers), digest):
            return
        kind, _, given = headers.get("authorization", "").partition(" ")
        if kind.lower() != "bearer" or not given.strip() or not await self.guesses.right(given.strip(), sender(scope)):
            raise RefusedError(401, "this service asks for its token: `Authorization: Bearer TOKEN`")

    def _allowance(self, scope: Scope) -> Allowance:
        own = self.settings
        if _uploads(scope):
            said = (
                f"a file may have at most {own.upload_bytes_most / 1e6:g} MB; cut a recording into takes, or save it as"
            )
            return Allowance(own.upload_bytes_most, own.upload_seconds, f"{said} FLAC")
        most = own.body_bytes_most if _closed(scope) else min(own.body_bytes_most, OPEN_BYTES_MOST)
        return Allowance(most, own.body_seconds, f"a request may hold at most {most} bytes")

    def _counted(self, scope: Scope) -> AbstractContextManager[None]:
        """Let no more files arrive at once than there is room for."""
        return self._uploads.one() if _uploads(scope) else nullcontext()

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


def _uploads(scope: Scope) -> bool:
    """Whether a request may bring a file."""
    return scope["method"] == "POST" and UPLOAD.fullmatch(scope["path"]) is not None


def _unread(scope: Scope, headers: Headers) -> tuple[str, dict[str, str]] | None:
    """Why a body is none of what the service reads, and the header fields that say what is (RFC 9110, sections 15.5.16,
    12.5.1 and 12.5.3); None where it is."""
    if headers.get("content-encoding", "identity").lower() != "identity":
        why = "what is sent is read as it is; leave out Content-Encoding, and send it unpacked"
        return why, {"accept-encoding": "identity"}
    kind = headers.get("content-type", "").partition(";")[0].strip().lower()
    if scope["method"] in SAFE or _uploads(scope) or kind == JSON or kind.endswith("+json"):
        return None
    return f"this takes JSON alone; send it with `Content-Type: {JSON}`", {"accept": JSON}


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


async def _arrived(receive: Receive, allowed: Allowance, body: IO[bytes]) -> int | None:
    """Take in a request's whole body, within its limits of size and time; its size, None when its sender left.

    Read here, for what is raised while the application reads comes out of it as a fault in the request's JSON.
    """
    size = 0
    try:
        async with asyncio.timeout(allowed.seconds):
            while True:
                message = await receive()
                if message["type"] == "http.disconnect":
                    return None
                part = message.get("body", b"")
                size += len(part)
                if size > allowed.most:
                    raise RefusedError(413, allowed.said)
                await _at(size, body.write, part)
                if not message.get("more_body", False):
                    body.seek(0)
                    return size
    except TimeoutError:
        raise RefusedError(408, f"the request did not arrive within {allowed.seconds:g} s") from None


async def _at(size: int, act: Callable[[Any], Any], given: Any) -> Any:
    """Read or write a body of that size: one that lies on a disk in a thread, so that nobody else waits for that."""
    return await run_in_threadpool(act, given) if size > IN_MEMORY_BYTES else act(given)


class _Again:
    """Hands over a body that has arrived, in parts, then waits for the end of the connection."""

    def __init__(self, body: IO[bytes], size: int, receive: Receive) -> None:
        self._body: IO[bytes] | None = body
        self._size = size
        self._receive = receive

    async def __call__(self) -> Message:
        if self._body is None:
            return await self._receive()
        part = await _at(self._size, self._body.read, PART_BYTES)
        more = len(part) == PART_BYTES
        if not more:
            self._body = None
        return {"type": "http.request", "body": part, "more_body": more}

    async def left(self, gone: asyncio.Event) -> None:
        """Wait until the sender leaves, and tell that."""
        while (await self._receive())["type"] != "http.disconnect":
            pass
        gone.set()
