"""Every reader of files searched for what it does not hold against, guided by the lines of code that a file reaches.

    python tests/benchmarks/fuzz_readers.py [--minutes 18] [--readers project,record] [--work FOLDER] [--keep FOLDER]

minutes : in all, each reader an equal share, one after the other. A file fails that brings anything but a fault in a
sentence, takes more than 5 s of processor time or 2 GB. work : where files that reach something new are kept, to go on
from the next time; failed ones lie in failed/, and it ends with 1. keep : also put some of those found last there, as
tests/corpus has them. Needs the extra `fuzz` (`pip install -e '.[test,fuzz]'`).
"""

import argparse
import copy
import json
import re
import shutil
import subprocess
import sys
import tempfile
import time
import traceback
from contextlib import suppress
from pathlib import Path
from random import Random

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(Path(__file__).parents[1] / "kit"), str(ROOT)]
MEGABYTES_MOST = 2_000
STUCK_SECONDS = 120
"""By the clock, on a machine that is busy."""

NOTHING = {"sound": 0, "told": 0, "failed": {}, "slowest": 0.0}
KEPT_BYTES, KEPT_FILES = 8_000, 8
"""Of a reader's files in the tests' corpus."""


class Search:
    """In a process of its own: one reader, searched until its time is over."""

    def __init__(self, name: str, work: Path) -> None:
        import atheris

        with atheris.instrument_imports(include=["optimizer", "acoustics", "tomllib", "csv", "json"]):
            import fuzzed_readers

            self.place = fuzzed_readers.laid_out(Path(tempfile.mkdtemp()))
            for seed in fuzzed_readers.READERS[name].seeds():  # readers load much where they read first
                with suppress(Exception):
                    fuzzed_readers.outcome(name, seed, self.place)
        self.name, self.work, self.kit = name, work, fuzzed_readers
        self.reader = fuzzed_readers.READERS[name]
        self.told = copy.deepcopy(NOTHING)
        self.noted, self.seen = time.monotonic(), set()

    def one(self, data: bytes) -> None:
        """What one file is; a failure is kept, and the search goes on."""
        begun = time.process_time()
        try:
            self.told[self.kit.outcome(self.name, data, self.place)] += 1
        except BaseException as error:
            self._failed(data, error)
        self.told["slowest"] = max(self.told["slowest"], time.process_time() - begun)
        if time.monotonic() - self.noted > 1.0 or self.told["failed"].keys() != self.seen:
            self.noted, self.seen = time.monotonic(), set(self.told["failed"])
            (self.work / "told.json").write_text(json.dumps(self.told))

    def _failed(self, data: bytes, error: BaseException) -> None:
        frames = traceback.extract_tb(error.__traceback__)
        own = [each for each in frames if str(ROOT) in each.filename] or frames
        where = f"{type(error).__name__} {Path(own[-1].filename).name}:{own[-1].lineno}"
        told = self.told["failed"].setdefault(where, {"times": 0, "said": str(error)[:300], "bytes": 1 << 30})
        told["times"] += 1
        if len(data) < told["bytes"]:
            told["bytes"] = len(data)
            (self.work / "failed").mkdir(exist_ok=True)
            (self.work / "failed" / re.sub(r"[^\w.-]", "_", where)).write_bytes(data)

    def other(self, data: bytes, most: int, seed: int) -> bytes:
        """Another file: by what its kind is made of, or byte by byte."""
        from odd_texts import changed_bytes

        dice = Random(seed)
        if self.reader.change is None or dice.random() < 0.1:
            return changed_bytes(data, dice)[:most]
        text = self.reader.change(data.decode("utf-8", "replace"), dice)
        return text.encode("utf-8", "replace")[:most]


def search(name: str, work: Path, flags: list[str]) -> None:
    """Search one reader; never returns."""
    import atheris

    found = Search(name, work)
    atheris.Setup([name, *flags], found.one, custom_mutator=found.other)
    atheris.Fuzz()


def searched(name: str, work: Path, seconds: float) -> tuple[dict, str]:
    """What a search of one reader found, and a line about it."""
    from fuzzed_readers import CORPUS, LONGEST, READERS

    found, note = work / "found", work / "told.json"
    found.mkdir(parents=True, exist_ok=True)
    note.write_text(json.dumps(NOTHING))  # of this time, also where it ends before it notes anything
    for number, seed in enumerate(READERS[name].seeds()):
        (found / f"seed-{number}").write_bytes(seed[:LONGEST])
    flags = [
        f"-max_total_time={seconds:.0f}",
        f"-max_len={LONGEST}",
        f"-timeout={STUCK_SECONDS}",
        "-print_final_stats=1",
    ]
    flags += [
        f"-rss_limit_mb={MEGABYTES_MOST}",
        f"-artifact_prefix={work}/",
        "-len_control=0",
        "-mutate_depth=1",
        str(found),
    ]
    flags += [str(each) for each in [CORPUS / name] if each.is_dir()]
    command = [sys.executable, __file__, "--one", name, "--work", str(work), *flags]
    done = subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, errors="replace")
    told = json.loads(note.read_text()) | {"ended_by": done.returncode}
    marks = dict(re.findall(r"stat::(\w+):\s+(\d+)", done.stdout))
    reached = re.findall(r"cov: (\d+) ft: (\d+) corp: (\d+)", done.stdout)
    ended = "" if done.returncode == 0 else f"; ENDED BY {done.returncode}: {done.stdout[-1500:]}"
    cov, _, kept = reached[-1] if reached else ("?", "", "?")
    first = reached[0][0] if reached else "?"
    line = (
        f"{name:14} {marks.get('number_of_executed_units', '?'):>8} files, {told['sound']} sound, {told['told']} told, "
        f"{first} to {cov} edges by {kept} files, slowest {told['slowest']:.2f} s, {marks.get('peak_rss_mb', '?')} MB, "
        f"{len(told['failed'])} failures{ended}"
    )
    return told, line


def kept(name: str, work: Path, into: Path) -> None:
    """Of the files that reached something new, those found last, as they go furthest; as far as there is room."""
    room = KEPT_BYTES
    found = sorted((work / "found").iterdir(), key=lambda path: path.stat().st_mtime, reverse=True)
    for path in [each for each in found if each.stat().st_size <= KEPT_BYTES / 3][:KEPT_FILES]:
        room -= path.stat().st_size
        if room < 0:
            break
        (into / name).mkdir(parents=True, exist_ok=True)
        shutil.copyfile(path, into / name / path.name[:12])


def main() -> int:
    """All readers, and what was found; the exit code."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--minutes", type=float, default=18.0)
    parser.add_argument("--readers", default="")
    parser.add_argument("--work", type=Path)
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--one", help=argparse.SUPPRESS)
    options, flags = parser.parse_known_args()
    if options.one:
        search(options.one, options.work, flags)
    from fuzzed_readers import READERS

    names = options.readers.split(",") if options.readers else list(READERS)
    work, found = options.work or Path(tempfile.mkdtemp()), False
    for name in names:
        told, line = searched(name, work / name, 60.0 * options.minutes / len(names))
        print(line, flush=True)
        found |= bool(told["failed"]) or told["ended_by"] != 0
        for where, each in told["failed"].items():
            print(f"    {each['times']} times {where}: {each['said']!r}", flush=True)
        if options.keep:
            kept(name, work / name, options.keep)
    print(f"what was found lies in {work}")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
