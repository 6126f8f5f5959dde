"""Processor time of the commands that solve a project over and over: `hands`, `relieve`, `extend`, `prices`.

`.venv/bin/python tests/benchmarks/fits.py`, some minutes. A short search of the tenor comes first, for `prices`. Each
command then runs as a whole process with its workers; its processor time (user and system, of all of them) and its
time by the clock are printed. With `--beside HOLEWRIGHT`, the command of another release, both run one after the
other on the same files, and the ratio is printed.
"""

import argparse
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
TENOR, LOWER = ROOT / "configs" / "lantern-tenor.toml", ROOT / "configs" / "lantern-tenor-low-a.toml"
MINUTES = "30"
"""More than any of them needs: none is to be cut short."""


def timed(command: list[object], folder: Path) -> tuple[float, float]:
    """Processor time and time by the clock of a command [s]."""
    before, begun = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    done = subprocess.run([str(word) for word in command], cwd=folder, capture_output=True, text=True)
    if done.returncode:
        sys.exit(f"{command}: {done.stderr}")
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, time.perf_counter() - begun


def searched(holewright: object, folder: Path) -> Path:
    """The run folder of a short search of the tenor by a command."""
    timed([holewright, "search", TENOR, "--results", folder, "--trials", "20", "--seed", "1"], folder)
    (run,) = (path.parent for path in folder.glob("*/pareto.json"))
    return run


def commands(folder: Path, run: Path) -> dict[str, list[object]]:
    """Each command's arguments."""
    return {
        "hands": ["hands", TENOR, "--out", folder / "hands", "--minutes", MINUTES],
        "relieve": ["relieve", TENOR, "--out", folder / "reliefs.json", "--minutes", MINUTES],
        "extend": ["extend", TENOR, LOWER, "--out", folder / "extension", "--minutes", MINUTES],
        "prices": ["prices", run, "--minutes", MINUTES],
    }


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--beside", type=Path, help="the command `holewright` of another release")
    options.add_argument("--only", nargs="*", help="which of them")
    asked = options.parse_args()
    releases = {"this": Path(sys.executable).parent / "holewright"} | ({"other": asked.beside} if asked.beside else {})
    with tempfile.TemporaryDirectory(prefix="fits-") as place:
        tasks = {}
        for release, holewright in releases.items():
            folder = Path(place, release)
            folder.mkdir()
            tasks[release] = commands(folder, searched(holewright, folder))
        for name in asked.only or tasks["this"]:
            took = {
                release: timed([holewright, *tasks[release][name]], Path(place))
                for release, holewright in releases.items()
            }
            told = ", ".join(f"{release} {cpu:.1f} s ({clock:.1f} elapsed)" for release, (cpu, clock) in took.items())
            ratio = f"; {took['other'][0] / took['this'][0]:.1f} times less" if "other" in took else ""
            print(f"{name}: {told}{ratio}", flush=True)


if __name__ == "__main__":
    main()
