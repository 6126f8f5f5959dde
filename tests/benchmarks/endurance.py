"""Kills a search again and again at random moments: nothing finished is lost, nothing is done twice, nobody is left.

    python tests/benchmarks/endurance.py --kills 200 [--held 0] [--still 60] [--seed 1] [--ray] [--only KIND]
        [--project PROJECT]

Killed are the driver, one of its workers or all of them; with --ray, on Rays of the search's own, the driver, a worker,
the head, all of Ray, or the guard; with --only one kind of these. What is looked at after each kill stands in
`tests/kit/endurance.py`. So often as --held says the driver or a worker is not killed, but held still for so many
seconds by turns. Exit code 1 where anything was wrong. Every `LIFE` kills begin a new run.
"""

import argparse
import random
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[1] / "kit"))

import optuna
from endurance import KINDS, Endured, Kill

MEADOW = Path(__file__).parents[2] / "configs" / "meadow-pipe.toml"
LIFE = 25
ON_RAY = "Ray's workers"


@contextmanager
def begun(project: Path, seed: int, ways: tuple[str, ...]) -> Iterator[Endured]:
    """A run to kill, which has to end well after all that was done to it."""
    with TemporaryDirectory(prefix="kills-", ignore_cleanup_errors=True) as place:
        runs = Path(place) / "runs"
        runs.mkdir()
        run = Endured(project, runs, ways, random.Random(seed))
        yield run
        if said := run.close():
            raise SystemExit(f"a run did not end well: {said}")


def kills_of(chosen: argparse.Namespace) -> Iterator[Kill]:
    """One kill after the other, each run through at most `LIFE` of them; then what is held still."""
    ways = (ON_RAY,) if chosen.ray else tuple(way for way in KINDS if way != ON_RAY)
    kinds = {way: tuple(kind for kind in KINDS[way] if chosen.only in ("", kind)) for way in ways}
    ways = tuple(way for way in ways if kinds[way])
    KINDS.update(kinds)
    for done in range(0, chosen.kills, LIFE):
        with begun(chosen.project, chosen.seed + done, ways) as run:
            yield from (run.killed() for _ in range(min(LIFE, chosen.kills - done)))
    if chosen.held:
        with begun(chosen.project, chosen.seed, (ON_RAY,) if chosen.ray else ("local workers",)) as run:
            yield from (run.held(("driver", "worker")[turn % 2], chosen.still) for turn in range(chosen.held))


def table(kills: list[Kill]) -> str:
    """A line for each kind of kill, and one for all."""
    lines = [
        "| killed | kills | trials before | after | lost | repeated | left | else wrong | seconds, median | most |",
        "|" + 10 * "---|",
    ]
    for kind in [*dict.fromkeys(kill.kind for kill in kills), "all"]:
        those = [kill for kill in kills if kind in (kill.kind, "all")]
        sums = [
            sum(figures)
            for figures in zip(
                *((one.before, one.after, one.lost, one.repeated, one.left, len(one.wrong)) for one in those),
                strict=True,
            )
        ]
        seconds = sorted(one.seconds for one in those)
        told = [kind, len(those), *sums, f"{seconds[len(seconds) // 2]:.2f}", f"{seconds[-1]:.2f}"]
        lines.append("| " + " | ".join(map(str, told)) + " |")
    return "\n".join(lines)


def main() -> int:
    """Kill, look, and print the table."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--kills", type=int, default=200)
    options.add_argument("--held", type=int, default=0)
    options.add_argument("--still", type=float, default=60.0)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--ray", action="store_true")
    options.add_argument("--only", default="")
    options.add_argument("--project", type=Path, default=MEADOW)
    chosen = options.parse_args()
    optuna.logging.set_verbosity(optuna.logging.ERROR)
    kills: list[Kill] = []
    for kill in kills_of(chosen):
        kills.append(kill)
        print(len(kills), kill, flush=True)
    print(table(kills))
    return int(any((kill.lost, kill.repeated, kill.left, kill.wrong) != (0, 0, 0, []) for kill in kills))


if __name__ == "__main__":
    sys.exit(main())
