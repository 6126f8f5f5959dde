"""`serve`: runs for browsers and programs, until Ctrl-C or a termination request."""

import os
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from optimizer.commands.options import RESULTS, Results, flag, folder, measure, option, text
from optimizer.project.allowed_ranges import Bounds
from optimizer.project.faults import Fault

if TYPE_CHECKING:
    from optimizer.service.settings import Settings

PORTS = Bounds(least=1, most=65_535)
TOKEN_VARIABLE = "HOLEWRIGHT_TOKEN"
PROJECTS = Path("configs")
ELSEWHERE = (
    "the service needs Linux or macOS: it follows no link out of a run's folder, which this system cannot promise; all "
    "other commands work here"
)


def serve(
    host: Annotated[str, text("--host", "ADDRESS", "address to bind to; others than this need a token")] = "127.0.0.1",
    port: Annotated[int, measure("--port", int, PORTS, "port")] = 8750,
    name: Annotated[list[str] | None, text("--name", "NAME", "a host name it is reached by; may be repeated")] = None,
    results: Results = RESULTS,
    projects: Annotated[
        Path, option("--projects", folder("--projects"), "PATH", "project, hand and printer files to offer")
    ] = PROJECTS,
    at_once: Annotated[int, measure("--at-once", int, Bounds(least=1), "how many searches may run at once")] = 1,
    waiting: Annotated[int, measure("--waiting", int, Bounds(least=0), "how many more may wait")] = 50,
    new_token: Annotated[bool, flag("--new-token", "ask for a token, made now and shown once")] = False,
) -> int:
    """Serve runs to browsers and programs.

    To submit, follow, choose and hand over.

    Raises
    ------
    Fault
        when the results folder cannot be written to, the address and port cannot be taken, or the system is none that
        it runs on
    """
    if os.open not in os.supports_dir_fd:
        raise Fault(ELSEWHERE)
    from optimizer.service.settings import Settings

    settings = Settings(
        results=results.resolve(),
        projects=projects.resolve(),
        host=host,
        port=port,
        names=tuple(each.lower() for each in name or ()),
        running_most=at_once,
        waiting_most=waiting,
    )
    try:
        settings.results.mkdir(parents=True, exist_ok=True)
        _listen(_with_token(settings, new_token))
    except OSError as error:
        raise Fault(f"{error.filename or host}: {error.strerror or error}") from error
    return 0


def _with_token(settings: "Settings", fresh: bool) -> "Settings":
    """The settings with the token that is asked for: one from the environment, else one made and shown once."""
    from optimizer.commands.console import console
    from optimizer.service.tokens import digest_of, kept_digest, new_token, unfit

    given = os.environ.pop(TOKEN_VARIABLE, "")
    if given:
        wrong = unfit(given)
        if wrong is not None:
            raise Fault(f"{TOKEN_VARIABLE}: {wrong}")
        return replace(settings, token_digest=digest_of(given))
    digest = kept_digest(settings.kept)
    if fresh or (settings.open_to_others and digest is None):
        token = new_token(settings.kept)
        console().print("token, shown this once (--new-token makes another):", token, soft_wrap=True, markup=False)
        digest = digest_of(token)
    return replace(settings, token_digest=digest)


def _listen(settings: "Settings") -> None:
    """Take the results folder and the port, then serve."""
    from optimizer.commands.console import console
    from optimizer.service.app import make_app
    from optimizer.service.serving import listening, server_of

    app = make_app(settings)
    app.state.parts.queue.take()
    with listening(settings) as taken:
        shown = f"[{settings.host}]" if ":" in settings.host else settings.host
        at = f"http://{shown}:{settings.port}"
        console().print(f"{at}  serves {_near(settings.results)}; Ctrl-C ends it", soft_wrap=True)
        if settings.open_to_others:
            console().print("Others can reach this. Put a TLS proxy in front, or the token travels in the open.")
        server_of(app, settings).run(sockets=[taken])


def _near(path: Path) -> str:
    """A path as seen from here, where it lies below."""
    return str(path.relative_to(Path.cwd())) if path.is_relative_to(Path.cwd()) else str(path)
