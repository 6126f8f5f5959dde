"""One connection: what the service asks of it beyond HTTP itself."""

import asyncio
import socket

from uvicorn.protocols.http.h11_impl import H11Protocol


class Connection(H11Protocol):
    """A connection to a browser or a program."""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Begin; small parts go out at once.

        An answer's head and body are written apart. Held back until the head is acknowledged (RFC 896), the body comes
        as late as the acknowledgement, 40 ms after the head on a connection that is kept.
        """
        transport.get_extra_info("socket").setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        super().connection_made(transport)
