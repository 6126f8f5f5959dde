"""A service under load beside a running search: latencies of reads, and what the load costs the search.

    python tests/benchmarks/serve_load.py [--followers 200] [--rate 50] [--phase 30] [--phases 4] [--warm 20]
        [--benches 4] [--every 200] [--handoffs 2] [--workers 1] [--runs 0] [--project configs/meadow-pipe.toml]

The service, its search and the load each are processes of their own. Phases without and with load alternate; one
reader keeps its connection, as a browser does, the other takes a fresh one for every read; the search's rate is that of
progress.json between the ends of each phase. With --workers 1 one core is left for service and load on a machine of
two; the load takes a share of its own, which is told. benches : who move holes by hand, a move every so many
milliseconds, or when the last is answered; handoffs : who ask for a hand-off's tables and shapes, again and again.
runs : finished runs besides, on the shelf
"""

import argparse
import json
import os
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
from collections.abc import Callable
from contextlib import closing, suppress
from functools import partial
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from threading import Thread
from typing import Any, NamedTuple

import psutil

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(Path(__file__).parents[1] / "kit"), str(ROOT)]
SERVE = "from optimizer.commands.cli import main; raise SystemExit(main())"
READS = ("reads on kept connections", "reads on fresh connections")
KINDS = (*READS, "moves by hand", "hand-offs")
HANDED = {"only": ["tables", "meshes"], "states": ["printed"]}


Noted = tuple[list[float], list[str]]


class Load(NamedTuple):
    """How much there is of each kind; every: seconds between the moves of one bench; phase [s]."""

    followers: int
    rate: float
    phase: float
    benches: int
    every: float
    handoffs: int


def follow(port: int, run: str, until: float, events: list[int]) -> None:
    """Count the moments that one follower gets."""
    got = 0
    with suppress(OSError, HTTPException), closing(HTTPConnection("127.0.0.1", port, timeout=20)) as connection:
        connection.request("GET", f"/api/v1/runs/{run}/events")
        answer = connection.getresponse()
        while time.monotonic() < until and (line := answer.readline()):
            got += line.startswith(b"event: moment")
    events.append(got)


def read(port: int, run: str, times: list[float], kept: bool, spent: list[float], errors: list[str]) -> None:
    """Ask at each of the times, in turn for the list, the run, its front and a layout; note how long each took.

    kept : whether on one connection, or each time on a fresh one
    """
    with closing(HTTPConnection("127.0.0.1", port, timeout=20)) as connection:
        best = ""
        for number, moment in enumerate(times):
            time.sleep(max(0.0, moment - time.monotonic()))
            paths = ("/runs", f"/runs/{run}", f"/runs/{run}/front", f"/runs/{run}/layouts/{best}")
            path = paths[number % 4] if best else paths[2]
            try:
                connection.request("GET", f"/api/v1{path}")
                answer = connection.getresponse()
                body = answer.read()
                spent.append(time.monotonic() - max(moment, 0.0))
                if path.endswith("/front") and answer.status == 200:
                    best = json.loads(body)["layouts"][0]["id"]
                elif answer.status == 404 and "/layouts/" in path:
                    best = ""  # it left the front meanwhile
                elif answer.status != 200:
                    errors.append(f"{answer.status} {path}")
            except (OSError, HTTPException) as error:
                errors.append(f"{type(error).__name__} {path}")
                connection.close()
            if not kept:
                connection.close()


def posted(port: int, path: str, given: Callable[[int], object], every: float, until: float, noted: Noted) -> None:
    """Ask for one thing again and again, every so many seconds or when the last was answered; note how long it took.

    noted : takes times [s], and what was answered but 200 and 204
    """
    spent, errors = noted
    with closing(HTTPConnection("127.0.0.1", port, timeout=400)) as connection:
        count = 0
        while (begun := time.monotonic()) < until:
            count += 1
            connection.request("POST", path, json.dumps(given(count)), {"Content-Type": "application/json"})
            answer = connection.getresponse()
            answer.read()
            spent.append(time.monotonic() - begun)
            if answer.status not in (200, 204):
                errors.append(f"{answer.status} {path.rpartition('/')[2]}")
            time.sleep(max(0.0, every - (time.monotonic() - begun)))


def at_work(port: int, run: str, options: Load, until: float, spent: dict[str, list[float]], errors: list[str]) -> None:
    """Threads, begun, of those who move holes and those who ask for hand-offs, of the layout best in tune."""
    best = asked(port, f"/runs/{run}/front")["layouts"][0]["id"]
    path = f"/api/v1/runs/{run}/layouts/{best}"
    start = asked(port, f"/runs/{run}/layouts/{best}/moved", {"sitting": "bench-0", "number": 0, "numbers": {}})
    places = [each for each in start["numbers"] if each["name"].startswith("position_mm.")]

    def move(bench: int, count: int) -> dict[str, object]:
        place = places[bench % len(places)]
        numbers = {place["name"]: place["value"] + 0.1 * (count % 20 - 10)}
        return {"sitting": f"bench-{bench}", "number": int(1e3 * time.monotonic()), "numbers": numbers}

    moves, handed = ((spent[kind], errors) for kind in KINDS[2:])
    wanted = [(f"{path}/moved", partial(move, bench), options.every, moves) for bench in range(options.benches)]
    wanted += [(f"{path}/handoff", lambda _: HANDED, 0.0, handed) for _ in range(options.handoffs)]
    threads = [Thread(target=posted, args=(port, to, given, every, until, noted)) for to, given, every, noted in wanted]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


def load(port: int, run: str, given: dict[str, Any]) -> None:
    """One phase of load, in a process of its own; its figures as a line of JSON."""
    options = Load(**given)
    followers, rate, seconds = options.followers, options.rate, options.phase
    threading.stack_size(262_144)
    begun = time.monotonic()
    until, events, errors = begun + seconds, list[int](), list[str]()
    spent: dict[str, list[float]] = {kind: [] for kind in KINDS}
    count = int(rate * seconds)
    times = [begun + 0.5 + number / rate for number in range(count) if 0.5 + number / rate < seconds]
    threads = [Thread(target=follow, args=(port, run, until, events)) for _ in range(followers)]
    for each, kind in enumerate(READS):
        args = port, run, times[each :: len(READS)], kind == READS[0], spent[kind], errors
        threads.append(Thread(target=read, args=args))
    threads.append(Thread(target=at_work, args=(port, run, options, until, spent, errors)))
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    used = time.process_time() / (time.monotonic() - begun)
    print(json.dumps({"spent": spent, "errors": errors, "events": events, "cpu": used}))


def asked(port: int, path: str, given: dict[str, object] | None = None) -> dict[str, Any]:
    """The JSON of an answer."""
    body = None if given is None else json.dumps(given).encode()
    request = urllib.request.Request(
        f"http://127.0.0.1:{port}/api/v1{path}", body, {"Content-Type": "application/json"}
    )
    with urllib.request.urlopen(request, timeout=120) as answer:
        found: dict[str, Any] = json.load(answer)
        return found


class Search:
    """The running search: how many trials it has done."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / "progress.json"

    def mark(self) -> tuple[float, int]:
        """Seconds of search and trials, as of the next note in progress.json, so that both belong together."""
        before = self._read()
        while (now := self._read()) == before:
            time.sleep(0.02)
        return now

    def _read(self) -> tuple[float, int]:
        with suppress(OSError, ValueError):
            found = json.loads(self.path.read_text())
            return found["elapsed_seconds"], found["trials_done"]
        return 0.0, 0


def phases(options: argparse.Namespace, port: int, run: str, folder: Path, service: psutil.Process) -> None:
    """All phases, and their figures."""
    search, rates, shares, found = Search(folder), {False: [0.0, 0], True: [0.0, 0]}, [], []
    for number in range(options.phases):
        loaded = bool(number % 2)
        first, used, begun = search.mark(), sum(service.cpu_times()[:2]), time.monotonic()
        if loaded:
            given = [port, run, {name: getattr(options, name) for name in Load._fields}]
            done = subprocess.run(
                [sys.executable, __file__, "--load", json.dumps(given)], capture_output=True, text=True, check=True
            )
            found.append(json.loads(done.stdout))
        else:
            time.sleep(options.phase)
        share = (sum(service.cpu_times()[:2]) - used) / (time.monotonic() - begun)
        last = search.mark()
        rates[loaded][0] += last[0] - first[0]
        rates[loaded][1] += last[1] - first[1]
        rate = (last[1] - first[1]) / (last[0] - first[0])
        shares += [share] if loaded else []
        print(f"{'with' if loaded else 'no  '} load: {rate:7.2f} trials/s; service {share:5.1%} of a core", flush=True)
    plain, under = (trials / seconds for seconds, trials in (rates[False], rates[True]))
    events = [each for one in found for each in one["events"]]
    errors = [each for one in found for each in one["errors"]]
    for kind in KINDS:
        spent = sorted(1e3 * each for one in found for each in one["spent"][kind])
        if len(spent) < 2:
            print(f"{kind}: {spent}")
            continue
        cuts = statistics.quantiles(spent, n=100)
        marks = f"median {cuts[49]:.1f} ms, 95 % {cuts[94]:.1f} ms, 99 % {cuts[98]:.1f} ms, longest {spent[-1]:.0f} ms"
        print(f"{len(spent)} {kind}: {marks}")
    print(f"{len(errors)} errors {sorted(set(errors))[:5]}")
    print(f"{sum(events)} events to {len(events)} followers, {min(events)} to {max(events)} each")
    print(f"service {statistics.mean(shares):.1%} of a core, load {statistics.mean(one['cpu'] for one in found):.1%}")
    print(f"search {plain:.2f} trials/s without, {under:.2f} with load: ratio {under / plain:.3f}")


def shelf(results: Path, runs: int) -> None:
    """Finished runs besides."""
    from made_records import layout, run_folder

    for number in range(runs):
        run_folder(results / f"old-{number}", [layout()], finished="2026-11-02T10:01:00+00:00")


def main() -> None:
    """Start service and search, measure, end both."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    counts = (("followers", 200), ("phases", 4), ("benches", 4), ("handoffs", 2), ("workers", 1), ("runs", 0))
    for name, usual in counts:
        parser.add_argument(f"--{name}", type=int, default=usual)
    for name, seconds in (("rate", 50.0), ("phase", 30.0), ("warm", 20.0), ("every", 200.0)):
        parser.add_argument(f"--{name}", type=float, default=seconds)
    parser.add_argument("--project", type=Path, default=ROOT / "configs" / "meadow-pipe.toml")
    parser.add_argument("--load", help=argparse.SUPPRESS)
    options = parser.parse_args()
    options.every /= 1e3
    if options.load:
        load(*json.loads(options.load))
        return
    results = Path(tempfile.mkdtemp())
    shelf(results, options.runs)
    with closing(socket.create_server(("127.0.0.1", 0))) as free:
        port = free.getsockname()[1]
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-c", SERVE, "serve", "--port", str(port), "--results", str(results)]
    command += ["--projects", str(ROOT / "configs")]
    service = subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL)
    run = ""
    try:
        while psutil.pid_exists(service.pid):
            with suppress(OSError):
                asked(port, "/")
                break
            time.sleep(0.1)
        wanted = {"project": options.project.read_text(), "minutes": 60, "workers": options.workers, "anyway": True}
        run = str(asked(port, "/runs", wanted)["id"])
        progress = results / run / "progress.json"
        while not progress.exists() or not json.loads(progress.read_text())["trials_done"]:
            time.sleep(1)
        time.sleep(options.warm)
        phases(options, port, run, results / run, psutil.Process(service.pid))
    finally:
        if run:
            asked(port, f"/runs/{run}/cancel", {})
            while asked(port, f"/runs/{run}")["state"] == "running":
                time.sleep(0.5)
        service.terminate()
        service.wait()
        shutil.rmtree(results, ignore_errors=True)


if __name__ == "__main__":
    main()
