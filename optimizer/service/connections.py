"""One connection: what the service asks of it beyond HTTP itself, and how long it waits for the other side."""

import asyncio
import socket
from http import HTTPStatus
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

from optimizer.service.addresses import counted_as
from optimizer.service.crowd import Crowd
from optimizer.service.heads import Heads
from optimizer.service.refusals import HEADERS, problem_response

STEP_BYTES = 4_096
"""As much is read at a time: of a head that is too large not much more than it may hold."""

LINGER_SECONDS = 1.0
UNREAD_SECONDS = 60.0
"""How long an answer may lie unread."""


class Connection(H11Protocol):
    """A connection to a browser or a program.

    Parameters
    ----------
    given : as the server gives it
    crowd : all connections
    head_seconds : how long a request's head may take to come
    named : as the server gives it
    """

    def __init__(self, *given: Any, crowd: Crowd, head_seconds: float, **named: Any) -> None:
        super().__init__(*given, **named)
        self.conn: Heads = Heads()
        self.address = ""
        self._crowd = crowd
        self._head_seconds = head_seconds
        self._refused = False
        self._head: asyncio.TimerHandle | None = None
        self._unread: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Begin; small parts go out at once.

        An answer's head and body are written apart. Held back until the head is acknowledged (RFC 896), the body comes
        as late as the acknowledgement, 40 ms after the head on a connection that is kept.
        """
        transport.get_extra_info("socket").setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        super().connection_made(transport)
        self.address = counted_as(self.client[0] if self.client else "")
        self._head = self.loop.call_later(self._head_seconds, self._head_is_late)
        if not self._crowd.enter(self):
            self._refuse(503, "as many connections are open as this service takes; try again soon")

    def connection_lost(self, exc: Exception | None) -> None:
        """End; nothing is timed any more."""
        self._crowd.leave(self)
        self._head_has_come()
        self.resume_writing()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Take in what came, a step at a time; nothing any more after a refusal."""
        for start in range(0, len(data), STEP_BYTES):
            if self._refused or self.transport.is_closing():
                return
            super().data_received(data[start : start + STEP_BYTES])
        if self._answering:
            self._head_has_come()
        elif self._head is None:
            self._head = self.loop.call_later(self._head_seconds, self._head_is_late)
        self._tell()

    def on_response_complete(self) -> None:
        """Go on to the next request, or wait for it."""
        super().on_response_complete()
        self._tell()

    @property
    def _answering(self) -> bool:
        return self.cycle is not None and not self.cycle.response_complete

    def _tell(self) -> None:
        """Let the crowd know whose turn it is."""
        if self._answering and not self.cycle.more_body:
            self._crowd.heard(self)
        else:
            self._crowd.wait_for(self)

    def _head_has_come(self) -> None:
        if self._head is not None:
            self._head.cancel()
            self._head = None

    def _head_is_late(self) -> None:
        self._head = None
        if self.conn.their_state is h11.IDLE and self.conn.trailing_data[0]:
            self._refuse(408, f"the head of the request did not arrive within {self._head_seconds:g} s")
        else:
            self.give_way()

    def timeout_keep_alive_handler(self) -> None:
        """Close what has rested for too long."""
        self.give_way()

    def give_way(self) -> None:
        """Close, and forget what nobody reads."""
        if self.transport.get_write_buffer_size():
            self.transport.abort()
        else:
            self.transport.close()

    def pause_writing(self) -> None:
        """Wait for what was written to be read, but not for ever."""
        super().pause_writing()
        self._unread = self.loop.call_later(UNREAD_SECONDS, self.transport.abort)

    def resume_writing(self) -> None:
        """Go on writing."""
        super().resume_writing()
        if self._unread is not None:
            self._unread.cancel()
            self._unread = None

    def send_400_response(self, msg: str) -> None:
        """Refuse what is no request, or too large for one."""
        self._refuse(*(self.conn.refusal or (400, msg)))

    def _refuse(self, status: int, detail: str) -> None:
        """Say why nothing more is taken in, unless an answer has begun; close when the sender does, or soon.

        A connection that is closed on data unread is reset, and the answer may be lost with it (RFC 9112, section 9.6).
        """
        self._refused = True
        if self.cycle is not None:
            self.cycle.disconnected = True
            self.cycle.message_event.set()
        if self.conn.our_state not in (h11.IDLE, h11.SEND_RESPONSE):
            self.transport.close()
            return
        head_alone = self.conn.our_state is h11.SEND_RESPONSE and self.conn.head_alone
        answer = problem_response(status, detail, headers={**HEADERS, "connection": "close"})
        reason = HTTPStatus(status).phrase.encode()
        headers = [*self.server_state.default_headers, *answer.raw_headers]
        self.transport.write(self.conn.send(h11.Response(status_code=status, headers=headers, reason=reason)))
        if not head_alone:
            self.transport.write(self.conn.send(h11.Data(data=bytes(answer.body))))
        self.transport.write_eof()
        self.loop.call_later(LINGER_SECONDS, self.give_way)
