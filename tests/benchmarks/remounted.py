"""A disk that the kernel makes read-only in the middle of a search, and of a service: told, nothing lost, taken up.

    python tests/benchmarks/remounted.py [--times 3] [--seed 1]

For root, on Linux, who may mount: the disk is a file with an ext4 in it, in a mount namespace of its own, told by
/sys/fs/ext4/DEVICE/trigger_fs_error that it erred (the kernel's Documentation/ABI/testing/sysfs-fs-ext4), which makes
it read-only at once as a bad disk would, with files open. Then it is checked (fsck) and mounted anew, as such a disk
does not become writable otherwise.

Each time: a search by its driver alone, one by local workers, and one of a service. Looked at are what was said, which
trials are there of those that were finished `SYNCED` seconds before (the disk loses what it had not taken in yet), and
whether the run goes on. Exit code 1 where anything was wrong, 77 where nothing can be mounted.
"""

import argparse
import json
import random
import signal
import socket
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "kit"))

import optuna
from processes import ended, started, wait_for
from runs import ALONE, WAYS, finished, only_run
from served import PROJECTS
from shelf import PIPE

from optimizer.records.files import RecordError, read_record
from optimizer.records.layout import LayoutRecord
from optimizer.records.run import FrontRecord

MEGABYTES = 128
SYNCED = 2.0
"""Seconds after which what a search wrote is on the disk itself: a journal is forced there once a second."""

NOT_HERE = 77
INSIDE = "--inside"
READ_ONLY = "Read-only file system"


class Disk:
    """A disk in a file, mounted at a place."""

    def __init__(self, folder: Path) -> None:
        self.image, self.place = folder / "disk", folder / "mounted"
        self.place.mkdir()
        with self.image.open("wb") as file:
            file.truncate(MEGABYTES * 2**20)
        _run("mkfs.ext4", "-q", "-F", self.image)
        self.device = ""
        self.mount()

    def mount(self) -> None:
        """Mount it, as it may be written to."""
        self.device = _run("losetup", "--find", "--show", self.image).strip()
        _run("mount", "-o", "errors=remount-ro", self.device, self.place)

    def errs(self) -> None:
        """Let it err: it is read-only from then on."""
        Path("/sys/fs/ext4", Path(self.device).name, "trigger_fs_error").write_text("1")

    def mend(self) -> None:
        """Check it, and mount it anew."""
        self.unmount()
        checked = subprocess.run(["fsck.ext4", "-p", self.image], capture_output=True, text=True)
        assert checked.returncode in (0, 1), checked.stdout + checked.stderr
        self.mount()

    def unmount(self) -> None:
        """Let go of it, once who used it has ended."""
        assert wait_for(lambda: subprocess.run(["umount", self.place], stderr=subprocess.DEVNULL).returncode == 0, 30)
        _run("losetup", "--detach", self.device)


def _run(*words: object) -> str:
    return subprocess.run([str(word) for word in words], check=True, capture_output=True, text=True).stdout


@contextmanager
def disk() -> Iterator[Disk]:
    """A new disk."""
    with tempfile.TemporaryDirectory(prefix="remounted-", ignore_cleanup_errors=True) as place:
        made = Disk(Path(place))
        try:
            yield made
        finally:
            made.unmount()


def erring(on: Disk, folder: Path, dice: random.Random) -> dict[int, list[float]]:
    """Let the disk err at a random moment of a search; the trials that were on it for sure."""
    assert wait_for(lambda: len(finished(folder)) > 3)
    time.sleep(dice.uniform(0.0, 2.0))
    before = finished(folder)
    time.sleep(SYNCED)
    on.errs()
    return before


def whole(on: Disk, folder: Path, before: dict[int, list[float]]) -> list[str]:
    """Check the disk, and what is wrong with the run on it once that is taken up for a trial more."""
    there = finished(folder)
    on.mend()
    kept = finished(folder)
    code, out, err = ended(started("resume", folder, "--trials", "1", "--workers", "1", "--no-report"))
    after = finished(folder)
    front = read_record(folder / "pareto.json", FrontRecord)
    print(f"    {len(before)} trials on the disk for sure, {len(there)} finished, {len(kept)} after the check")
    return [
        *([f"not taken up: {code}, {out}{err}"] if code else []),
        *(f"trial {number} is lost" for number, values in before.items() if after.get(number) != values),
        *(["no trial more"] if len(after) <= len(kept) else []),
        *(f"{path} is left" for path in folder.rglob("*.part")),
        *(f"{entry.id} is lost" for entry in front.layouts if not _reads(folder / entry.file)),
        *(["there are other layouts than the front's"] if _names(folder) != {one.id for one in front.layouts} else []),
    ]


def _names(folder: Path) -> set[str]:
    return {path.stem for path in (folder / "layouts").iterdir()}


def _reads(path: Path) -> bool:
    try:
        read_record(path, LayoutRecord)
    except RecordError:
        return False
    return True


def searched(way: str, dice: random.Random) -> list[str]:
    """What is wrong after a search's disk became read-only."""
    options, environment, _ = WAYS[way]
    with disk() as on:
        project, results = on.place / "pipe.toml", on.place / "results"
        project.write_text(PIPE)
        process = started("search", project, "--results", results, "--minutes", "30", *options, **environment)
        assert wait_for(lambda: list(results.glob("*/run.json")))
        folder = only_run(results)
        before, begun = erring(on, folder, dice), time.monotonic()
        code, out, err = ended(process)
        print(f"    ended after {time.monotonic() - begun:.1f} s: {' '.join(err.splitlines()[-1].split())}")
        wrong = [] if code == 2 and READ_ONLY in err and "Traceback" not in out + err else [f"code {code}: {err}"]
        wrong += whole(on, folder, before)
        count = len(finished(folder))
        code, _, err = ended(started("resume", folder, "--trials", "2", *options, **environment))
        return wrong + ([] if code == 0 and len(finished(folder)) >= count + 2 else [f"not taken up: {code}, {err}"])


def asked(port: int, path: str, given: object = None, method: str | None = None) -> tuple[int, dict[str, object]]:
    """Status and JSON of an answer; 0 where nobody answers."""
    body = None if given is None else json.dumps(given).encode()
    request = urllib.request.Request(
        f"http://127.0.0.1:{port}/api/v1{path}", body, {"Content-Type": "application/json"}, method=method
    )
    try:
        with urllib.request.urlopen(request, timeout=60) as answer:
            return answer.status, json.load(answer)
    except urllib.error.HTTPError as error:
        return error.code, json.load(error)
    except OSError:
        return 0, {}


@contextmanager
def service(results: Path) -> Iterator[tuple[int, subprocess.Popen[str]]]:
    """A service as a process of its own, which ends well; its port."""
    with closing(socket.create_server(("127.0.0.1", 0))) as free:
        port = free.getsockname()[1]
    process = started("serve", "--port", str(port), "--results", results, "--projects", PROJECTS)
    assert wait_for(lambda: asked(port, "/runs")[0] == 200 or process.poll() is not None)
    yield port, process
    process.terminate()
    code, out, err = ended(process)
    assert code == -signal.SIGTERM, f"{code}: {err}"  # as whoever it was ended by is told
    assert "Traceback" not in out + err, err


def run_of(port: int, name: str) -> dict[str, object]:
    """A run at a glance."""
    return asked(port, f"/runs/{name}")[1]


def served_on(dice: random.Random) -> list[str]:
    """What is wrong after a service's disk became read-only."""
    with disk() as on:
        results, wrong = on.place / "results", list[str]()
        new = {"project": PIPE, "minutes": 30, "workers": 1, "anyway": True}
        with service(results) as (port, _):
            name = str(asked(port, "/runs", new)[1]["id"])
            before = erring(on, results / name, dice)
            if not wait_for(lambda: run_of(port, name)["state"] not in ("running", "starting"), 60):
                wrong.append("the search did not end")
            if not wait_for(lambda: READ_ONLY in str(run_of(port, name)["message"]), 30):
                wrong.append("it is not told why its end is not noted")
            told = run_of(port, name)
            print(f"    {told['state']}: {told['message']}")
            for path in ("/runs", f"/runs/{name}", f"/runs/{name}/front", f"/runs/{name}/progress"):
                if asked(port, path)[0] != 200:
                    wrong.append(f"{path} is not read: {asked(port, path)}")
            posts = ("/runs", new), (f"/runs/{name}/resume", {"trials": 1})
            for method, path, given in (*(("POST", *each) for each in posts), ("DELETE", f"/runs/{name}", None)):
                status, said = asked(port, path, given, method)
                print(f"    {method} {path.replace(name, 'RUN')}: {status} {said.get('detail')}")
                if status != 503 or READ_ONLY not in str(said.get("detail")):
                    wrong.append(f"{method} {path}: {status} {said}")
        wrong += whole(on, results / name, before)
        with service(results) as (port, _):
            told = run_of(port, name)
            print(f"    after the check {told['state']}: {told['message']}")
            count = len(finished(results / name))
            status, said = asked(port, f"/runs/{name}/resume", {"trials": 2})
            if status != 202 or not wait_for(lambda: run_of(port, name)["state"] == "ended", 120):
                wrong.append(f"not taken up: {status} {said} {run_of(port, name)}")
            if len(finished(results / name)) < count + 2:
                wrong.append("no trial more")
        return wrong


def main() -> int:
    """All of it, and what was wrong."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--times", type=int, default=3)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument(INSIDE, action="store_true", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if not options.inside:
        try:
            return subprocess.run(["unshare", "--mount", sys.executable, *sys.argv, INSIDE]).returncode
        except OSError as error:
            print(f"nothing can be mounted here: {error.strerror}")
            return NOT_HERE
    try:
        with disk():
            pass
    except (subprocess.CalledProcessError, OSError) as error:
        print(f"nothing can be mounted here: {getattr(error, 'stderr', '') or error}")
        return NOT_HERE
    optuna.logging.set_verbosity(optuna.logging.ERROR)
    dice, faults = random.Random(options.seed), 0
    for turn in range(options.times):
        for what in (*ALONE, "a service"):
            print(f"{turn} {what}", flush=True)
            wrong = served_on(dice) if what == "a service" else searched(what, dice)
            print(*(f"    WRONG: {each}" for each in wrong), sep="\n", flush=True)
            faults += len(wrong)
    return int(faults > 0)


if __name__ == "__main__":
    sys.exit(main())
