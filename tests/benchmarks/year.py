"""A year's search: a run of a million trials, written the way a search writes them, shown and taken up.

    python tests/benchmarks/year.py [--trials 1000000] [--unmarked]

The first trials are those of a real search of the Meadow Pipe; the rest tell the same again, each under its own number.
Then, each as a process of its own: `show`, and `resume` for one trial from the mark beside the journal; with --unmarked
without one first, as a run of a version that wrote none is taken up. Printed are seconds by the clock and of processor,
and the most memory.
"""

import argparse
import os
import re
import subprocess
import sys
import time
import zlib
from pathlib import Path
from tempfile import TemporaryDirectory

from optimizer.records.files import read_record, write_record
from optimizer.records.run import RunRecord
from optimizer.search.journal_mark import Mark, Place, mark_of, write_mark

COMMAND = Path(sys.executable).parent / "holewright"
MEADOW = Path(__file__).parents[2] / "configs" / "meadow-pipe.toml"
FIRST = 60
ASKS = b'{"op_code":4,'
NUMBER = re.compile(rb'"trial_id":\d+')


def run(*words: object) -> str:
    """Run a command and say what it took."""
    begun = time.monotonic()
    process = subprocess.Popen([COMMAND, *map(str, words)], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    out = process.stdout.read() if process.stdout else ""
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise SystemExit(f"{words[0]} ended with code {process.returncode}: {out}")
    return (
        f"{time.monotonic() - begun:.1f} s, {used.ru_utime + used.ru_stime:.1f} s of processor, "
        f"{used.ru_maxrss / 1024:.0f} MiB at most"
    )


def lengthen(folder: Path, trials: int) -> int:
    """Let a run's journal tell of so many trials, and its mark, too; the journal's size in bytes.

    Repeated are the trials of the search that were asked for after those that waited at its beginning, each with its
    lines together.
    """
    journal = folder / "journal.log"
    text, before = journal.read_bytes(), mark_of(journal)
    lines = text.splitlines(keepends=True)
    places = [number for number, line in enumerate(lines) if line.startswith(ASKS) and b'"state":4' not in line]
    blocks = [b"".join(lines[a:b]) for a, b in zip(places, [*places[1:], len(lines)], strict=True)]
    pieces = [NUMBER.split(block) for block in blocks]
    known = sum(line.startswith(ASKS) for line in lines)
    count, crc32 = len(lines), zlib.crc32(text)
    with journal.open("ab", buffering=2**24) as stream:
        for number in range(known, trials):
            block = (b'"trial_id":%d' % number).join(pieces[number % len(pieces)])
            stream.write(block)
            count, crc32 = count + block.count(b"\n"), zlib.crc32(block, crc32)
    place = Place(length=journal.stat().st_size, lines=count, crc32=crc32)
    write_mark(journal, Mark(place=place, trials=trials, done=trials, failed=0, params=before.params))
    record = read_record(folder / "run.json", RunRecord)
    write_record(folder / "run.json", record.model_copy(update={"trials_done": trials}))
    return place.length


def main() -> None:
    """Write the run, and look at it."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--trials", type=int, default=1_000_000)
    options.add_argument("--unmarked", action="store_true")
    chosen = options.parse_args()
    trials, resumed = chosen.trials, 1 + chosen.unmarked
    with TemporaryDirectory(prefix="year-") as place:
        run("search", MEADOW, "--trials", FIRST, "--workers", 1, "--seed", 1, "--results", place, "--no-report")
        (folder,) = Path(place).iterdir()
        more = ("--trials", 1, "--workers", 1, "--no-report")
        print(f"resume after {FIRST} trials: {run('resume', folder, *more)}", flush=True)
        size = lengthen(folder, trials)
        print(f"{trials} trials, a journal of {size / 2**20:.0f} MiB")
        print(f"show: {run('show', folder)}", flush=True)
        if chosen.unmarked:
            (folder / "journal.mark").unlink()
            print(f"resume without a mark: {run('resume', folder, *more)}", flush=True)
        print(f"resume: {run('resume', folder, *more)}", flush=True)
        done = read_record(folder / "run.json", RunRecord).trials_done
        if done != trials + resumed:
            raise SystemExit(f"{done} trials are told, not {trials + resumed}")


if __name__ == "__main__":
    main()
