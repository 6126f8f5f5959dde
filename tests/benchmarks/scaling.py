"""How far one driver scales: trials per second against workers, by a simulation of the search's own queue.

`.venv/bin/python tests/benchmarks/scaling.py results/RUN --driver-ms 4.9`. Each worker solves for a time drawn from the
solve times of a real run's journal, then waits for the one driver, which takes results in the order they arrive and
spends the given time on each (tell, judge, write, propose). That is a closed queue with one server; it can do no more
than 1 / driver time, nor more than workers / (solve time + driver time). The network is left out.
"""

import argparse
import heapq
from pathlib import Path

import numpy as np
import optuna
from optuna.storages import JournalStorage
from optuna.storages.journal import JournalFileBackend
from optuna.trial import TrialState

WORKERS = (1, 2, 4, 8, 16, 32, 64, 100, 200, 400, 700, 1000)
LEAST = 20


def solve_seconds(run: Path) -> np.ndarray:
    """Seconds from proposal to result of a run's trials; those proposed before the first result are left out."""
    optuna.logging.set_verbosity(optuna.logging.ERROR)
    storage = JournalStorage(JournalFileBackend(str(run / "journal.log")))
    trials = optuna.load_study(study_name=None, storage=storage).get_trials(states=(TrialState.COMPLETE,))
    spans = [(trial.datetime_start, trial.datetime_complete) for trial in trials]
    pairs = [(start, end) for start, end in spans if start is not None and end is not None]
    first = min((end for _, end in pairs), default=None)
    if first is None or len(pairs) < LEAST:
        raise SystemExit(f"{run} has {len(pairs)} finished trials; at least {LEAST} are needed")
    return np.array([(end - start).total_seconds() for start, end in pairs if start >= first])


def trials_per_second(solves: np.ndarray, driver: float, workers: int, trials: int, seed: int = 1) -> float:
    """Throughput of the queue over its second half, when the start no longer shows."""
    dice = np.random.default_rng(seed)
    draws = iter(dice.choice(solves, size=trials + workers))
    arrivals = [float(next(draws)) for _ in range(workers)]
    heapq.heapify(arrivals)
    free, half = 0.0, 0.0
    for number in range(trials):
        free = max(heapq.heappop(arrivals), free) + driver
        heapq.heappush(arrivals, free + float(next(draws)))
        if number == trials // 2 - 1:
            half = free
    return (trials - trials // 2) / (free - half)


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("run", type=Path, help="run folder with a journal")
    options.add_argument("--driver-ms", type=float, default=4.9, help="driver's time per trial, from driver.py")
    options.add_argument("--trials", type=int, default=100_000, help="trials to simulate for each row")
    chosen = options.parse_args()
    solves, driver = solve_seconds(chosen.run), 1e-3 * chosen.driver_ms
    low, middle, high = np.percentile(solves, (10, 50, 90))
    print(f"{len(solves)} solves: mean {solves.mean():.3f} s, 10/50/90 %: {low:.3f}, {middle:.3f}, {high:.3f} s")
    print(
        f"driver {chosen.driver_ms:g} ms a trial: at most {1.0 / driver:.0f} trials/s, "
        f"reached with about {1.0 + solves.mean() / driver:.0f} workers\n"
    )
    print("| workers | trials/s | of what the workers could do |")
    print("|---|---|---|")
    for workers in WORKERS:
        rate = trials_per_second(solves, driver, workers, chosen.trials)
        print(f"| {workers} | {rate:.1f} | {100.0 * rate * solves.mean() / workers:.0f} % |")


if __name__ == "__main__":
    main()
