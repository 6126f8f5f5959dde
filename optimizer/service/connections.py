"""One connection: what the service asks of it beyond HTTP itself."""

import asyncio
import socket
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

from optimizer.service.heads import Heads
from optimizer.service.refusals import HEADERS, problem_response

STEP_BYTES = 4_096
"""As much is read at a time: of a head that is too large not much more than it may hold."""

LINGER_SECONDS = 1.0


class Connection(H11Protocol):
    """A connection to a browser or a program."""

    def __init__(self, *given: Any, **named: Any) -> None:
        super().__init__(*given, **named)
        self.conn: Heads = Heads()
        self._refused = False

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Begin; small parts go out at once.

        An answer's head and body are written apart. Held back until the head is acknowledged (RFC 896), the body comes
        as late as the acknowledgement, 40 ms after the head on a connection that is kept.
        """
        transport.get_extra_info("socket").setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        super().connection_made(transport)

    def data_received(self, data: bytes) -> None:
        """Take in what came, a step at a time; nothing any more after a refusal."""
        for start in range(0, len(data), STEP_BYTES):
            if self._refused or self.transport.is_closing():
                return
            super().data_received(data[start : start + STEP_BYTES])

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
        answer = problem_response(status, detail, headers={**HEADERS, "connection": "close"})
        headers = [*self.server_state.default_headers, *answer.raw_headers]
        self.transport.write(self.conn.send(h11.Response(status_code=status, headers=headers)))
        self.transport.write(self.conn.send(h11.Data(data=bytes(answer.body))))
        self.transport.write_eof()
        self.loop.call_later(LINGER_SECONDS, self.transport.close)
