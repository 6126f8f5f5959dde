"""Where the service meets the network: the socket that it listens on, and the server behind it."""

import resource
import socket
from functools import partial

import uvicorn
from fastapi import FastAPI

from optimizer.service.connections import Connection
from optimizer.service.crowd import Crowd
from optimizer.service.settings import Settings

BACKLOG = 2048
GRACE_SECONDS = 3
FILES = 256
"""Of what the system lets a process open, so much is kept for files."""

KEPT_SECONDS = 30
"""How long a connection may rest between two requests."""


def listening(settings: Settings) -> socket.socket:
    """The socket of the address and port; raises OSError where they cannot be had."""
    family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
    return socket.create_server((settings.host, settings.port), family=family, backlog=BACKLOG)


def server_of(app: FastAPI, settings: Settings, grace_seconds: int = GRACE_SECONDS) -> uvicorn.Server:
    """The server of an application; grace_seconds: how long it waits for answers under way when it is to end."""
    files_most = resource.getrlimit(resource.RLIMIT_NOFILE)[0]
    most = settings.connections_most
    if files_most != resource.RLIM_INFINITY:
        most = max(1, min(most, files_most - FILES))
    crowd = Crowd(most, settings.silent_most)
    config = uvicorn.Config(
        app,
        http=partial(Connection, crowd=crowd, head_seconds=settings.head_seconds),  # type: ignore[arg-type]
        ws="none",
        log_level="error",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=grace_seconds,
        timeout_keep_alive=KEPT_SECONDS,
    )
    return uvicorn.Server(config)
