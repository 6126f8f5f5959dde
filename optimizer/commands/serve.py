"""What `serve` does, once parsed."""

import argparse
import os
import socket
from dataclasses import replace
from pathlib import Path

import uvicorn
from fastapi import FastAPI

from optimizer.commands.console import Complain, console
from optimizer.service.app import make_app
from optimizer.service.queue import ServiceInUseError
from optimizer.service.settings import Settings
from optimizer.service.tokens import digest_of, kept_digest, new_token

TOKEN_VARIABLE = "HOLEWRIGHT_TOKEN"
GRACE_SECONDS = 3
BACKLOG = 2048


def run_serve(options: argparse.Namespace, complain: Complain) -> int:
    """`serve`: until Ctrl-C or a termination request; exit code 2 for something to mend."""
    problems = _problems(options)
    if problems:
        return complain("options to mend", problems)
    settings = Settings(
        results=options.results.resolve(),
        projects=options.projects.resolve(),
        host=options.host,
        port=options.port,
        names=tuple(name.lower() for name in options.name),
        running_most=options.at_once,
        waiting_most=options.waiting,
    )
    try:
        settings.results.mkdir(parents=True, exist_ok=True)
        settings = _with_token(settings, options.new_token)
        _serve(settings)
    except ServiceInUseError as error:
        return complain("cannot serve this", [str(error)])
    except OSError as error:
        return complain("cannot serve this", [f"{error.filename or options.host}: {error.strerror or error}"])
    return 0


def _problems(options: argparse.Namespace) -> list[str]:
    problems = []
    if not 1 <= options.port <= 65_535:
        problems.append(f"--port must lie between 1 and 65535, but got {options.port}")
    if options.at_once < 1:
        problems.append(f"--at-once must be at least 1, but got {options.at_once}")
    if options.waiting < 0:
        problems.append(f"--waiting must be at least 0, but got {options.waiting}")
    if not options.projects.is_dir():
        problems.append(f"--projects: there is no folder {options.projects}")
    return problems


def _with_token(settings: Settings, fresh: bool) -> Settings:
    """The settings with the token that is asked for: one from the environment, else one made and shown once."""
    given = os.environ.pop(TOKEN_VARIABLE, "")
    if given:
        return replace(settings, token_digest=digest_of(given))
    digest = kept_digest(settings.kept)
    if fresh or (settings.open_to_others and digest is None):
        token = new_token(settings.kept)
        console().print("token, shown this once (--new-token makes another):", token, soft_wrap=True, markup=False)
        digest = digest_of(token)
    return replace(settings, token_digest=digest)


def _serve(settings: Settings) -> None:
    app = make_app(settings)
    app.state.parts.queue.take()
    family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
    with socket.create_server((settings.host, settings.port), family=family, backlog=BACKLOG) as listening:
        _listen(app, settings, listening)


def _listen(app: FastAPI, settings: Settings, listening: socket.socket) -> None:
    shown = f"[{settings.host}]" if ":" in settings.host else settings.host
    console().print(f"http://{shown}:{settings.port}  serves {_near(settings.results)}; Ctrl-C ends it", soft_wrap=True)
    if settings.open_to_others:
        console().print("Others can reach this. Put a TLS proxy in front, or the token travels in the open.")
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=GRACE_SECONDS,
        timeout_keep_alive=30,
        limit_concurrency=2 * settings.followers_most,
        h11_max_incomplete_event_size=32_768,
    )
    uvicorn.Server(config).run(sockets=[listening])


def _near(path: Path) -> str:
    """A path as seen from here, where it lies below."""
    return str(path.relative_to(Path.cwd())) if path.is_relative_to(Path.cwd()) else str(path)
