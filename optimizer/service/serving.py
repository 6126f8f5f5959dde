"""Where the service meets the network: the socket that it listens on, and the server behind it."""

import socket

import uvicorn
from fastapi import FastAPI

from optimizer.service.connections import Connection
from optimizer.service.settings import Settings

BACKLOG = 2048
GRACE_SECONDS = 3
KEPT_SECONDS = 30
"""How long a connection may rest between two requests."""


def listening(settings: Settings) -> socket.socket:
    """The socket of the address and port; raises OSError where they cannot be had."""
    family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
    return socket.create_server((settings.host, settings.port), family=family, backlog=BACKLOG)


def server_of(app: FastAPI, settings: Settings, grace_seconds: int = GRACE_SECONDS) -> uvicorn.Server:
    """The server of an application; grace_seconds: how long it waits for answers under way when it is to end."""
    config = uvicorn.Config(
        app,
        http=Connection,
        ws="none",
        log_level="error",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=grace_seconds,
        timeout_keep_alive=KEPT_SECONDS,
        limit_concurrency=2 * settings.followers_most,
    )
    return uvicorn.Server(config)
