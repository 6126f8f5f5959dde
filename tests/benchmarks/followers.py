"""Thousands of followers of a run that come, go and come again, some of whom hardly read: nothing is lost or doubled.

    python tests/benchmarks/followers.py [--again 3000] [--silent 60] [--slow 5] [--writes 10]

again : connections by four who follow, take an event or some in and break off, then ask for what came since; silent :
who never read; slow : who read a byte a second; writes : of the run's progress a second. Service and followers are
processes of their own. Told are what was wrong, how late an event came to one who reads at once, and the service's
memory, before and in the end. Exit code 1 where an event came twice or out of order, the last one did not come, or
memory grew by more than `GROWTH_MIB`.
"""

import argparse
import json
import random
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import closing
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from typing import NamedTuple

import psutil

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(Path(__file__).parents[1] / "kit"), str(ROOT)]

from made_records import layout, run_folder
from shelf import progress

from optimizer.records.files import write_record

SERVE = "from optimizer.commands.cli import main; raise SystemExit(main())"
PATH = "/api/v1/runs/pipe/events"
FOLLOWERS = 4
WANTED = 0, 0, 0, 0, 0, 0, 1, 2
"""So many events are taken in before a connection is broken off."""

GROWTH_MIB = 20.0


class Event(NamedTuple):
    """A moment: its id, the trials it tells of, and when it came."""

    id: str
    trials: int
    at: float


class Written:
    """The run's progress, written again and again; when each number of trials was."""

    def __init__(self, folder: Path, writes: float) -> None:
        self.folder, self.pause, self.at, self.stopped = folder, 1.0 / writes, list[float](), threading.Event()
        self.write()

    def write(self) -> None:
        """One trial more."""
        self.at.append(time.monotonic())
        told = progress(None).model_copy(update={"trials_done": len(self.at)})
        write_record(self.folder / "progress.json", told)

    def keep_on(self) -> None:
        """Until it is stopped."""
        while not self.stopped.wait(self.pause):
            self.write()


def events(port: int, last: str) -> Iterator[Event]:
    """Moments of a connection of its own; none within seconds ends it."""
    with closing(HTTPConnection("127.0.0.1", port, timeout=5)) as connection:
        connection.request("GET", PATH, headers={"Last-Event-ID": last} if last else {})
        answer, name, trials = connection.getresponse(), "", None
        if answer.status != 200:
            raise HTTPException(f"{answer.status} {answer.read().decode()}")
        try:
            for line in answer:
                if line.startswith(b"id: "):
                    name = line[4:].decode().strip()
                elif line.startswith(b"data: "):
                    said = json.loads(line[6:])
                    trials = said["progress"]["trials_done"] if said.get("progress") else 0
                elif not line.strip() and trials is not None:
                    yield Event(name, trials, time.monotonic())
                    trials = None
        except TimeoutError:  # no event for a while
            return


def follow(port: int, connections: int, had: list[Event], wrong: list[str], dice: random.Random) -> None:
    """Follow on so many connections, each for an event or some, or for none."""
    for _ in range(connections):
        wanted = dice.choice(WANTED)
        try:
            with closing(events(port, had[-1].id if had else "")) as stream:
                if not wanted:
                    with socket.create_connection(("127.0.0.1", port), timeout=5) as broken:
                        broken.sendall(f"GET {PATH} HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n".encode())
                for _, event in zip(range(wanted), stream, strict=False):
                    if had and event.trials <= had[-1].trials:
                        wrong.append(f"{event.trials} trials were told after {had[-1].trials}")
                    had.append(event)
        except (OSError, HTTPException) as error:
            wrong.append(f"{type(error).__name__}: {error}")


def at_once(port: int, until: threading.Event, had: list[Event]) -> None:
    """Take in every event on one connection."""
    for event in events(port, ""):
        had.append(event)
        if until.is_set():
            return


def silent(port: int) -> socket.socket:
    """A follower with hardly any room for what it does not read."""
    connection = socket.socket()
    connection.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 1)
    connection.settimeout(60)
    connection.connect(("127.0.0.1", port))
    connection.sendall(f"GET {PATH} HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n".encode())
    return connection


def sip(connections: list[socket.socket], until: threading.Event) -> None:
    """Read a byte of each every second."""
    while not until.wait(1.0):
        for connection in connections:
            connection.recv(1)


def followed(port: int, options: argparse.Namespace, folder: Path, service: psutil.Process) -> bool:
    """Whether all was well; figures are printed."""
    written, over, wrong, prompt = Written(folder, options.writes), threading.Event(), list[str](), list[Event]()
    had: list[list[Event]] = [[] for _ in range(FOLLOWERS)]
    each = -(-options.again // FOLLOWERS)
    coming = [
        threading.Thread(target=follow, args=(port, each, one, wrong, random.Random(number)))
        for number, one in enumerate(had)
    ]
    others = [silent(port) for _ in range(options.silent + options.slow)]
    beside = [
        threading.Thread(target=written.keep_on),
        threading.Thread(target=sip, args=(others[options.silent :], over)),
        threading.Thread(target=at_once, args=(port, over, prompt)),
    ]
    before = service.memory_info().rss / 2**20
    for thread in (*beside, *coming):
        thread.start()
    for thread in coming:
        thread.join()
    after = service.memory_info().rss / 2**20
    written.stopped.set()
    beside[0].join()
    over.set()
    last = len(written.at)
    for one in had:
        more = list(zip(range(2), events(port, one[-1].id), strict=False)) if one[-1].trials < last else []
        if max(one[-1].trials, *(event.trials for _, event in more), 0) != last:
            wrong.append(f"the last event told of {one[-1].trials} trials, not {last}")
    for other in others:
        other.close()
    for thread in beside:
        thread.join()
    late = sorted(event.at - written.at[event.trials - 1] for event in prompt if event.trials)
    print(f"{FOLLOWERS * each} connections, {sum(map(len, had))} events taken in of {last} writes; {len(wrong)} wrong")
    print(*sorted(set(wrong))[:10], sep="\n")
    print(f"who reads at once: {len(late)} events, at most {late[-1]:.2f} s late, median {late[len(late) // 2]:.2f} s")
    print(f"the service: {before:.0f} MiB before, {after:.0f} after")
    return not wrong and after - before < GROWTH_MIB


def main() -> int:
    """Start a service, follow, and end it."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    for name, usual in (("again", 3000), ("silent", 60), ("slow", 5)):
        parser.add_argument(f"--{name}", type=int, default=usual)
    parser.add_argument("--writes", type=float, default=10.0)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="followers-") as place:
        results = Path(place) / "results"
        folder = run_folder(results / "pipe", [layout()])
        with closing(socket.create_server(("127.0.0.1", 0))) as free:
            port = free.getsockname()[1]
        command = [sys.executable, "-c", SERVE, "serve", "--port", str(port), "--results", str(results)]
        service = subprocess.Popen([*command, "--projects", str(ROOT / "configs")], stdout=subprocess.DEVNULL)
        try:
            while service.poll() is None:
                with closing(socket.socket()) as asked:
                    if not asked.connect_ex(("127.0.0.1", port)):
                        break
                time.sleep(0.1)
            return int(not followed(port, options, folder, psutil.Process(service.pid)))
        finally:
            service.terminate()
            service.wait()


if __name__ == "__main__":
    sys.exit(main())
