"""Requests nobody would send, and projects nobody would write, for as long as it is told; what failed.

    python tests/benchmarks/fuzz_service.py [--examples 200] [--minutes 3] [--projects 2000] [--walks 40]

examples : at most of each operation; minutes : over all operations, and as many over all walks; projects : changed demo
projects, and as many texts; walks : of up to 12 requests each along the links of the API document, from a run to
layouts, moves and hand-offs
"""

import argparse
import collections
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "kit"))

from fuzzed import Times, check_project, mutated, operations, shelf, walks
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from made_records import run_folder
from served import PROJECTS, served
from solved_demos import solved

from optimizer.project.hand import Hand
from optimizer.project.included import Included
from optimizer.service.offered import hand_of


def main() -> None:
    """Both, and their figures."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--examples", type=int, default=200)
    parser.add_argument("--minutes", type=float, default=3.0)
    parser.add_argument("--projects", type=int, default=2000)
    parser.add_argument("--walks", type=int, default=40)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as place, served(shelf(Path(place)), work_seconds=3.0) as client:
        begun = time.monotonic()
        counted, failures = operations(client, options.examples, 60 * options.minutes)
        _told("operations", counted, failures, begun)
    with tempfile.TemporaryDirectory() as place, served(_solved(Path(place)), work_seconds=60.0) as client:
        begun = time.monotonic()
        _told("steps of walks", *walks(client, options.walks, 12, 60 * options.minutes), begun)
    hand = hand_of(PROJECTS, "small-adult.toml", None)
    for name, texts in (("changed demo projects", mutated()), ("texts", st.text(max_size=2000))):
        _read(name, texts, None, options.projects)
        _read(f"{name}, another hand", texts, hand, options.projects)


def _solved(place: Path) -> Path:
    """A results folder with one run that ended, whose layouts can be moved, made and measured."""
    results = place / "results"
    text = (PROJECTS / "meadow-pipe.toml").read_text(encoding="utf-8")
    run_folder(results / "pipe", [solved("meadow-pipe")], project_text=text, finished="2026-11-02T10:01:00+00:00")
    return results


def _told(what: str, counted: Times, failures: list[str], begun: float) -> None:
    spent = time.monotonic() - begun
    count = sum(map(len, counted.values()))
    print(f"{count} requests to {len(counted)} {what} in {spent:.0f} s, {len(failures)} failures")
    for label, sent in sorted(counted.items()):
        print(f"  {len(sent):5d} {label}, at most {max(sent, default=0.0):.1f} s")
    print(*failures, sep="\n\n", flush=True)


def _read(name: str, texts: st.SearchStrategy[str], hand: Included[Hand] | None, count: int) -> None:
    outcomes: collections.Counter[str] = collections.Counter()
    slowest = 0.0

    def one(text: str) -> None:
        nonlocal slowest
        begun = time.monotonic()
        try:
            outcomes[check_project(text, hand)] += 1
        except Exception as error:
            said = f"{type(error).__name__}: {error}"[:300]
            if said not in outcomes:
                print(f"{said}\n{text[:3000]!r}")
            outcomes[said] += 1
        slowest = max(slowest, time.monotonic() - begun)

    checks = list(HealthCheck)
    settings(max_examples=count, phases=[Phase.generate], deadline=None, database=None, suppress_health_check=checks)(
        given(texts)(one)
    )()
    print(f"{sum(outcomes.values())} {name}: {dict(outcomes)}; the slowest took {slowest:.2f} s")


if __name__ == "__main__":
    main()
