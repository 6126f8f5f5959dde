"""What a search makes of projects that were begun from answers: `beginnings.py --minutes 2 [NAME-PART ...]`.

Each is searched alone for so long; the table says what was found, or which conflict is named.
"""

import argparse
import subprocess
import sys
import tempfile
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parents[1] / "kit"), str(Path(__file__).resolve().parents[2])]

from beginnings import BEGINNINGS

from optimizer.beginning.written import begun
from optimizer.project.faults import Fault
from optimizer.records.files import read_record
from optimizer.records.run import FrontRecord


def found(name, options, folder):
    """Best tuned layout of a search: cents, worst note, trials; or what is in the way."""
    path = folder / f"{name.replace(' ', '-').replace(',', '')}.toml"
    try:
        path.write_text(begun(BEGINNINGS[name], path).written)
    except Fault as fault:
        return "refused: " + "; ".join(fault.told)
    limits = ["--trials", str(options.trials)] if options.trials else ["--minutes", str(options.minutes)]
    call = [sys.executable, "-m", "optimizer.commands.cli", "search", str(path), "--workers", "1", "--seed", "1"]
    results = folder / path.stem
    said = subprocess.run([*call, "--no-report", "--results", results, *limits], capture_output=True, text=True)
    runs = sorted(results.glob("*/pareto.json"))
    if not runs:
        told = [line.strip() for line in said.stderr.splitlines() if "elapsed" not in line]
        return "conflict: " + " | ".join(told[1:4])
    front = read_record(runs[-1], FrontRecord)
    best = min(front.layouts, key=lambda entry: entry.objectives["tuning"])
    worst = best.objectives.get("worst_note", float("nan"))
    figures = f"{best.objectives['tuning']:6.2f} {worst:6.1f}"
    return f"feasible {figures}" if front.feasible else f"no       {figures}  {said.stdout.splitlines()[1][:120]}"


def main():
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*")
    parser.add_argument("--minutes", type=float, default=2.0)
    parser.add_argument("--trials", type=int)
    parser.add_argument("--results", type=Path, help="where projects and runs stay (default: nowhere)")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        folder = options.results or Path(place)
        folder.mkdir(parents=True, exist_ok=True)
        for name in BEGINNINGS:
            if not options.names or any(part in name for part in options.names):
                print(f"{name:<50} {found(name, options, folder)}", flush=True)


if __name__ == "__main__":
    main()
