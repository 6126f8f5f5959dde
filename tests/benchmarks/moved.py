"""How soon the notes follow a hole that is moved by hand: over HTTP, as a client sees it, one and four at once.

    python tests/benchmarks/moved.py [LAYOUT.json PROJECT.toml] [--moves 200] [--every 33]

Without a layout the tenor, solved once. First one move after the other: how long each takes until its answer is read.
Then as a drag, a move every so many milliseconds, as the page sends them: three under way at most, the newest in place
of one that was not sent yet; told is how long after each move something at least as new was answered, how many the page
did not send, and how many the service dropped. Processor time is that of all the service's processes. What a layout
says unmoved is held against its file first.
"""

import argparse
import json
import statistics
import sys
import tempfile
import threading
import time
from contextlib import closing
from http.client import HTTPConnection
from pathlib import Path

import psutil

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(Path(__file__).parents[1] / "kit"), str(ROOT)]

from desk import serving
from made_records import run_folder
from solved_demos import solved

from optimizer.project.demos import demo_path
from optimizer.project.loading import load_project
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord

UNDER_WAY = 3
SAME = ("reach", "objectives", "margins_mm", "binds")


class Sitter:
    """One who moves holes, to and fro by some tenths of a millimetre."""

    def __init__(self, port: int, record: LayoutRecord, name: str) -> None:
        self.port, self.name, self.number = port, name, 0
        self.path = f"/api/v1/runs/run/layouts/{record.id}/moved"
        with closing(HTTPConnection("127.0.0.1", port, timeout=120)) as connection:
            found = self.asked(connection, {}, 0)
        assert found is not None
        told, own = json.loads(found), record.model_dump(mode="json")
        cents = [[note["cents"] for note in each["notes"]] for each in (told, own)]
        assert all(told[name] == own[name] for name in SAME), "an unmoved layout is not its file"
        assert cents[0] == cents[1], "notes of an unmoved layout are not its file's"
        self.places = [each for each in told["numbers"] if each["name"].startswith("position_mm.")]

    def asked(self, connection: HTTPConnection, numbers: dict[str, float], number: int) -> bytes | None:
        """The answer to a move; None where it was dropped."""
        body = json.dumps({"sitting": self.name, "number": number, "numbers": numbers})
        connection.request("POST", self.path, body, {"content-type": "application/json"})
        answer = connection.getresponse()
        found = answer.read()
        assert answer.status in (200, 204), found
        return found if answer.status == 200 else None

    def move(self, count: int) -> dict[str, float]:
        """The numbers of the next move of a hole that changes every forty moves."""
        place = self.places[count // 40 % len(self.places)]
        return {place["name"]: place["value"] + 0.1 * (count % 20 - 10)}

    def one_by_one(self, moves: int, spent: list[float]) -> None:
        """Move after move, each once the last was answered [s]."""
        with closing(HTTPConnection("127.0.0.1", self.port, timeout=120)) as connection:
            for count in range(moves):
                begun = time.monotonic()
                self.number += 1
                assert self.asked(connection, self.move(count), self.number) is not None
                spent.append(time.monotonic() - begun)


class Drag:
    """Moves at a pace, as the page sends them."""

    def __init__(self, sitter: Sitter) -> None:
        self.sitter, self.ready = sitter, threading.Condition()
        self.wanted: int | None = None
        self.over = False
        self.made: list[float] = []
        self.shown: list[tuple[float, int]] = []
        self.sent = self.dropped = 0

    def done(self, moves: int, every: float) -> None:
        """Make so many moves, one every so many seconds, and wait for the last answer."""
        senders = [threading.Thread(target=self._send) for _ in range(UNDER_WAY)]
        for each in senders:
            each.start()
        begun = time.monotonic()
        for count in range(moves):
            time.sleep(max(0.0, begun + count * every - time.monotonic()))
            with self.ready:
                self.made.append(time.monotonic())
                self.wanted = count
                self.ready.notify()
        with self.ready:
            self.over = True
            self.ready.notify_all()
        for each in senders:
            each.join()

    def _send(self) -> None:
        with closing(HTTPConnection("127.0.0.1", self.sitter.port, timeout=120)) as connection:
            while True:
                with self.ready:
                    self.ready.wait_for(lambda: self.wanted is not None or self.over)
                    if self.wanted is None:
                        return
                    count, self.wanted = self.wanted, None
                    self.sitter.number += 1
                    number, self.sent = self.sitter.number, self.sent + 1
                found = self.sitter.asked(connection, self.sitter.move(count), number)
                with self.ready:
                    if found is None:
                        self.dropped += 1
                    else:
                        self.shown.append((time.monotonic(), count))

    @property
    def lags(self) -> list[float]:
        """How long after each move something at least as new was answered [s]."""
        return [min(at for at, shown in self.shown if shown >= count) - made for count, made in enumerate(self.made)]


def told(spent: list[float]) -> str:
    """Median, 95 % and longest of some times [s], in milliseconds."""
    ordered = sorted(1e3 * each for each in spent)
    most = f"95 % {ordered[int(0.95 * len(ordered))]:.0f}, longest {ordered[-1]:.0f}"
    return f"median {statistics.median(ordered):.0f} ms, {most}"


def together(threads: list[threading.Thread]) -> float:
    """Processor time that the service's processes take while some threads run [s]."""
    before = processor()
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    return processor() - before


def processor() -> float:
    """Processor time of all processes that this one began, so far [s]."""
    return sum(sum(each.cpu_times()[:2]) for each in psutil.Process().children(recursive=True))


def main() -> None:
    """Measure and print."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("files", nargs="*", type=Path)
    options.add_argument("--moves", type=int, default=200)
    options.add_argument("--every", type=float, default=33.0, help="milliseconds between the moves of a drag")
    given = options.parse_args()
    record = read_record(given.files[0], LayoutRecord) if given.files else solved("lantern-tenor")
    text = load_project(given.files[1] if given.files else demo_path("lantern-tenor")).text
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        run_folder(folder / "results" / "run", [record], project_text=text, finished="2026-11-02T10:01:00+00:00")
        with serving(folder) as address:
            port = int(address.rpartition(":")[2])
            print(f"{record.instrument}: {len(record.holes)} holes, {len(record.notes)} notes")
            for count in (1, 4):
                measured(port, record, count, given.moves, given.every / 1e3)


def measured(port: int, record: LayoutRecord, count: int, moves: int, every: float) -> None:
    """What so many at once see, printed."""
    sitters = [Sitter(port, record, f"sitter-{count}-{number}") for number in range(count)]
    spent = list[float]()
    used = together([threading.Thread(target=each.one_by_one, args=(moves, spent)) for each in sitters])
    print(f"{count} at once, move after move: {told(spent)}; processor {1e3 * used / len(spent):.0f} ms a move")
    drags = [Drag(each) for each in sitters]
    used = together([threading.Thread(target=each.done, args=(moves, every)) for each in drags])
    lags, answered = [lag for each in drags for lag in each.lags], sum(len(each.shown) for each in drags)
    sent, dropped = sum(each.sent for each in drags), sum(each.dropped for each in drags)
    print(f"{count} at once, a move every {1e3 * every:.0f} ms: behind by {told(lags)}")
    counts = f"{len(lags)} moves, {sent} sent, {dropped} dropped, {answered} worked out"
    print(f"    {counts}; processor {1e3 * used / max(answered, 1):.0f} ms each")
    with closing(HTTPConnection("127.0.0.1", port, timeout=120)) as connection:
        for each in sitters:
            connection.request("DELETE", f"/api/v1/sittings/{each.name}")
            connection.getresponse().read()


if __name__ == "__main__":
    main()
