"""What sensible holes cost: the best-tuned layout of every demo, searched as it stands and with `[venting]` off.

`.venv/bin/python tests/benchmarks/venting.py --minutes 2 --workers 2` on an idle machine; prints the table of
results/README.md. The ranges are the demo's own both times. "Largest step" is between neighbouring open holes, of the
wider one; "narrowest" the narrowest tone hole against the bore where it stands.
"""

import argparse
import os
import tempfile
from pathlib import Path

from optimizer.solving.processes import ONE_THREAD

os.environ.update(ONE_THREAD)  # before NumPy loads

from optimizer.project.editing import with_tables
from optimizer.project.loading import LoadedProject, load_project, parse_project
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord
from optimizer.records.run import FrontRecord, RunRecord
from optimizer.records.steps import largest_step
from optimizer.search.runs import search
from optimizer.search.search_limits import limits_of

CONFIGS = Path(__file__).parents[2] / "configs"
HEAD = ("instrument", "`[venting]`", "RMS cents", "worst note, cents", "largest step", "narrowest", "layouts", "trials")


def without(loaded: LoadedProject) -> LoadedProject:
    """The project with holes of any size beside one another."""
    text = with_tables(loaded.text, {"venting": {"wanted": False}}, "Without venting")
    assert text is not None
    return parse_project(text, loaded.source)


def row(loaded: LoadedProject, chosen: argparse.Namespace, results: Path) -> tuple[str, ...]:
    """Search a project; the cells of its row."""
    limits = limits_of(
        loaded.project.search, minutes=chosen.minutes, trials=chosen.trials, idle_minutes=None,
        workers=chosen.workers, seed=chosen.seed,
    )  # fmt: skip
    folder = search(loaded, limits, results, lambda status: None)
    run, front = read_record(folder.path / "run.json", RunRecord), read_record(folder.path / "pareto.json", FrontRecord)
    if run.ended_by in ("interrupt", "termination"):
        raise SystemExit(1)
    best = read_record(folder.path / front.layouts[0].file, LayoutRecord)
    step = largest_step(best.holes, best.notes)
    narrowest = min(hole.diameter_mm / hole.bore_diameter_mm for hole in best.holes if hole.role == "tone")
    return (
        loaded.project.instrument.name,
        "on" if loaded.project.venting.wanted else "off",
        f"{best.objectives['tuning']:.2f}" + ("" if best.feasible else ", not feasible"),
        f"{best.objectives['worst_note']:.1f}",
        "-" if step is None else f"{step.percent:.0f} %, {step.from_mm:.1f} mm beside {step.to_mm:.1f}",
        f"{narrowest:.0%}",
        str(len(front.layouts)),
        str(run.trials_done),
    )


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("projects", type=Path, nargs="*", default=sorted(CONFIGS.glob("*.toml")))
    options.add_argument("--minutes", type=float, default=2.0, help="of each search; --trials may end it sooner")
    options.add_argument("--trials", type=int)
    options.add_argument("--workers", type=int, default=2)
    options.add_argument("--seed", type=int, default=1)
    chosen = options.parse_args()
    print(f"| {' | '.join(HEAD)} |\n|{' --- |' * len(HEAD)}")
    with tempfile.TemporaryDirectory() as results:
        for loaded in map(load_project, chosen.projects):
            for project in (loaded, without(loaded)):
                print(f"| {' | '.join(row(project, chosen, Path(results)))} |", flush=True)


if __name__ == "__main__":
    main()
