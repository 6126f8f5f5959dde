"""What a search makes of projects that were begun from answers: `beginnings.py --minutes 2 [NAME-PART ...]`.

Each is searched alone for so long; the table says what was found, of the layout best in tune and of the one recommended
as in tune, or which conflict is named. A keyed instrument is asked to come below `KEYED_CENTS`, a bare pipe below the
Meadow Pipe, which is searched alike in the same run; of what does not, the limits that bind are told.
"""

import argparse
import subprocess
import sys
import tempfile
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parents[1] / "kit"), str(Path(__file__).resolve().parents[2])]

from beginnings import BEGINNINGS

from optimizer.beginning.written import begun
from optimizer.project.demos import demo_path
from optimizer.project.faults import Fault
from optimizer.records.files import read_record
from optimizer.records.recommendation import RecommendationRecord
from optimizer.records.run import FrontRecord, RunRecord

KEYED_CENTS = 5.0
MEADOW = "Meadow Pipe"


def found(project, name, options, folder):
    """Best tuned layout of a search: cents (None where nothing is feasible), a line of figures or what is in the way,
    and what binds."""
    limits = ["--trials", str(options.trials)] if options.trials else ["--minutes", str(options.minutes)]
    call = [sys.executable, "-m", "optimizer.commands.cli", "search", str(project), "--workers", "1", "--seed", "1"]
    results = folder / name.replace(" ", "-").replace(",", "")
    said = subprocess.run([*call, "--no-report", "--results", results, *limits], capture_output=True, text=True)
    runs = sorted(results.glob("*/pareto.json"))
    if not runs:
        told = [line.strip() for line in said.stderr.splitlines() if "elapsed" not in line]
        return None, "conflict: " + " | ".join(told[1:4]), []
    front = read_record(runs[-1], FrontRecord)
    layout = min(front.layouts, key=lambda entry: entry.objectives["tuning"])
    best = layout.objectives
    figures = f"{best['tuning']:6.2f} {best.get('worst_note', float('nan')):6.1f}"
    if not front.feasible:
        return None, f"no       {figures}  {said.stdout.splitlines()[1][:120]}", layout.binds
    picks = read_record(runs[-1].with_name("recommendation.json"), RecommendationRecord).picks
    (taken,) = [pick.objectives for pick in picks if "in tune" in pick.roles]
    trials = read_record(runs[-1].with_name("run.json"), RunRecord).trials_done
    told = f"recommended {taken['tuning']:6.2f} {taken.get('worst_note', float('nan')):6.1f}"
    return best["tuning"], f"feasible {figures}  {told}  {trials} trials", layout.binds


def begun_project(name, folder):
    """The file of a begun project."""
    path = folder / f"{name.replace(' ', '-').replace(',', '')}.toml"
    path.write_text(begun(BEGINNINGS[name], path).written)
    return path


def row(name, options, folder, pipe_cents):
    """Print a beginning's line; whether it came below what is asked of it."""
    asked = pipe_cents if BEGINNINGS[name].family == "six-hole" else KEYED_CENTS
    try:
        cents, told, binds = found(begun_project(name, folder), name, options, folder)
    except Fault as fault:
        cents, told, binds = None, "refused: " + "; ".join(fault.told), []
    below = cents is not None and cents < asked
    print(f"{name:<40} {told}  {'below' if below else 'not below'} {asked:.2f}", flush=True)
    if not below and binds:
        print(f"{'':<40} binds: {', '.join(each for each in binds if not each.startswith('range.'))}", flush=True)
    return below


def main():
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*")
    parser.add_argument("--minutes", type=float, default=2.0)
    parser.add_argument("--trials", type=int)
    parser.add_argument("--results", type=Path, help="where projects and runs stay (default: nowhere)")
    options = parser.parse_args()
    names = [name for name in BEGINNINGS if not options.names or any(part in name for part in options.names)]
    with tempfile.TemporaryDirectory() as place:
        folder, pipe_cents = options.results or Path(place), float("nan")
        folder.mkdir(parents=True, exist_ok=True)
        if any(BEGINNINGS[name].family == "six-hole" for name in names):
            cents, told, _ = found(demo_path("meadow-pipe"), MEADOW, options, folder)
            pipe_cents = pipe_cents if cents is None else cents
            print(f"{MEADOW:<40} {told}", flush=True)
        below = [row(name, options, folder, pipe_cents) for name in names]
        print(f"below what is asked of them: {sum(below)} of {len(below)}")


if __name__ == "__main__":
    main()
