"""What the driver itself costs: time per trial and memory, with workers that answer at once.

`.venv/bin/python tests/benchmarks/driver.py --trials 10000`. One real layout of the tenor is solved; copies of it with
invented objectives then stand for the trials, so that everything the driver does is done: proposing, telling, judging
against the front, writing the journal, the layouts and the progress file.
"""

import argparse
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import psutil

from optimizer.project.loading import load_project
from optimizer.records.layout import LayoutRecord
from optimizer.records.layout_ids import layout_id
from optimizer.search.driver import Driver
from optimizer.search.lock import sole_writer
from optimizer.search.outer_level import Asking
from optimizer.search.proposals import Proposal, opening
from optimizer.search.run_folder import create_run
from optimizer.search.search_limits import Limits
from optimizer.search.study import new_study
from optimizer.search.trial import Result, Solver
from optimizer.solving.linearised import Emphasis

PROJECT = Path(__file__).parents[2] / "configs" / "lantern-tenor.toml"


class InstantWorkers:
    """Workers that answer with a copy of one record, its objectives on or above a surface of trade-offs."""

    count, kind, trouble = 1, "local", ""

    def __init__(self, record: LayoutRecord) -> None:
        self.record, self.dice, self.held = record, np.random.default_rng(1), []
        self.preparing = np.zeros(2)

    def free(self) -> bool:
        return not self.held

    def busy(self) -> list[int]:
        return self.held

    def submit(self, proposal: Proposal) -> None:
        self.held = [proposal.number]

    def finished(self, patience: float) -> Iterator[tuple[int, Result]]:
        del patience
        begun = _clocks()
        (number,), self.held = self.held, []
        share = self.dice.dirichlet(np.ones(len(self.record.objectives))) * self.dice.uniform(1.0, 2.0)
        names = self.record.objectives
        values = {name: float(20.0 * part) for name, part in zip(names, share, strict=True)}
        copy = self.record.model_copy(update={"id": layout_id(number), "objectives": values})
        result = Result(number, copy.model_dump_json(indent=1))
        self.preparing += _clocks() - begun
        yield number, result


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--trials", type=int, default=10_000)
    trials = options.parse_args().trials
    loaded = load_project(PROJECT)
    solver = Solver(loaded.text, loaded.source)
    solved = solver.solve(Proposal(0, Emphasis(tuning=1.0, stretch=0.03, unevenness=0.03), 0.5, 0.0, 1))
    workers = InstantWorkers(LayoutRecord.model_validate_json(solved.record_json))
    process, marks = psutil.Process(), np.linspace(0, trials, 6).astype(int)[1:]
    with tempfile.TemporaryDirectory() as place:
        folder = create_run(Path(place), loaded, 1, None, trials, 1)
        with sole_writer(folder.path):
            asking = Asking(loaded, 1)
            study = new_study(folder.journal, folder.front.names, asking.sampler, opening(asking.questions))
            limits = Limits(None, trials, 1, 1)
            driver = Driver(folder, study, asking, workers, limits, lambda _: None, time.monotonic())  # type: ignore[arg-type]
            driver.report = _reporter(driver, workers, marks, process)
            driver.run(lambda: None)


def _clocks() -> np.ndarray:
    """Seconds (2,) by the clock, and of this process's processor."""
    return np.array([time.perf_counter(), time.process_time()])


def _reporter(driver: Driver, workers: InstantWorkers, marks: np.ndarray, process: psutil.Process):  # type: ignore[no-untyped-def]
    last = {"at": _clocks(), "done": 0, "prepared": np.zeros(2)}

    def report(_: object) -> None:
        if driver.done in marks:
            spent = _clocks() - last["at"] - (workers.preparing - last["prepared"])
            clock, processor = 1e3 * spent / (driver.done - last["done"])
            size = process.memory_info().rss / 2**20
            kept = len(driver.folder.front.members)
            each = f"{processor:6.2f} ms of processor a trial, {clock:6.2f} ms by the clock"
            print(f"to trial {driver.done:6d}: {each}, {size:6.1f} MiB, {kept} layouts", flush=True)
            last.update(at=_clocks(), done=driver.done, prepared=workers.preparing.copy())

    return report


if __name__ == "__main__":
    main()
