"""The head of a Ray cluster, as the driver sees it without Ray: whether it speaks.

Ray itself would wait a minute for a dead head and then end its process, so the head is looked for while a search joins
and before every wait.
"""

import os
import socket
import time

ASK_SECONDS = 2.0
"""So often a head is looked for."""

LOOKS, LOOK_SECONDS = 3, 3.0
"""So many looks have to fail, and so long each may take."""

GREETING = b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n" + bytes((0, 0, 0, 4, 0, 0, 0, 0, 0))
"""How a client opens HTTP/2 (RFC 9113, 3.4): a fixed line, and settings that set nothing."""

NO_CLUSTER = (
    "no Ray cluster answers at {address}; check that it runs, that RAY_ADDRESS names its head node, and that "
    "RAY_AUTH_MODE and the token here are the head node's (or unset RAY_ADDRESS to run on this machine alone)"
)
NOT_HERE = (
    "RAY_ADDRESS asks for Ray, which is not installed here; install it where there is a package for this machine, or "
    "unset RAY_ADDRESS to run on this machine alone"
)
LOST = "{what} died during the search; what was finished is safe in the run folder"


class Head:
    """A head, looked for every so often.

    Parameters
    ----------
    address : what RAY_ADDRESS says
    listens_at : its host:port where that is known better; other forms of address are left to Ray
    """

    def __init__(self, address: str, listens_at: str | None = None) -> None:
        self._address, self._listens_at = address, listens_at or address
        self._looked_at = float("-inf")

    def check(self, at_once: bool = False) -> None:
        """See whether it is there; every `ASK_SECONDS` only, unless asked to look at once.

        Raises
        ------
        ConnectionError
            when it is not
        """
        if at_once or time.monotonic() - self._looked_at >= ASK_SECONDS:
            self._looked_at = time.monotonic()
            if not answers(self._listens_at):
                raise ConnectionError(LOST.format(what=f"the head of the Ray cluster at {self._address}"))


def answers(address: str) -> bool:
    """Whether a head speaks at host:port, at one of `LOOKS` looks; true of other forms of address.

    The system connects to a head that hangs, too, but that does not open HTTP/2 as gRPC's servers do; under TLS a
    connection has to do.
    """
    host, _, port = address.rpartition(":")
    if not port.isdigit() or "/" in host:
        return True
    return any(_speaks(host.strip("[]"), int(port)) for _ in range(LOOKS))


def _speaks(host: str, port: int) -> bool:
    try:
        with socket.create_connection((host, port), timeout=LOOK_SECONDS) as connection:
            if os.environ.get("RAY_USE_TLS", "0").lower() in ("1", "true"):
                return True
            connection.sendall(GREETING)
            return bool(connection.recv(1))
    except OSError:
        return False
