"""How long a newcomer waits: installation, then the first layout of a search, cold and warm, then each short command.

Run on an idle machine: `.venv/bin/python tests/benchmarks/start.py`. What git tracks is copied to a folder of its own,
with an empty home and a new environment there; nothing is cached but what the package index's client is given anew. The
installation is timed apart. Then `search` is started twice and ended after its first layouts, and `check`, `show`,
`predict` and `--help` are timed as whole processes, the least of five, by the clock and by the processor, which a busy
machine delays less. `--minutes` lets the first search run on to its end and prints its last table.
"""

import argparse
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from itertools import pairwise
from pathlib import Path

ROOT = Path(__file__).parents[2]
PROJECT = "configs/lantern-tenor.toml"


def copied(into: Path) -> None:
    """What git tracks of this tree."""
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, check=True, capture_output=True, text=True).stdout
    for name in filter(None, listed.split("\0")):
        (into / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(ROOT / name, into / name)


def environment(home: Path) -> dict[str, str]:
    """This one with an empty home, without what points at caches, and Python as it comes (it keeps its bytecode)."""
    kept = {name: value for name, value in os.environ.items() if "CACHE" not in name and not name.startswith("PYTHON")}
    return kept | {"HOME": str(home), "PIP_NO_CACHE_DIR": "1"}


def first_layout(tree: Path, env: dict[str, str], results: str, minutes: float) -> tuple[float, str]:
    """Seconds from the start of `search` to its first layout on disk and on its screen, and all it printed."""
    begun = time.perf_counter()
    command = [".venv/bin/holewright", "search", PROJECT, "--results", results, "--minutes", str(minutes)]
    with (tree / f"{results}.txt").open("w") as screen:
        process = subprocess.Popen(command, cwd=tree, env=env, stdout=screen, stderr=subprocess.STDOUT)
        while process.poll() is None and not list(tree.glob(f"{results}/*/pareto.json")):
            time.sleep(0.02)
        took = time.perf_counter() - begun
        process.wait()
    return took, (tree / f"{results}.txt").read_text()


def least(tree: Path, env: dict[str, str], *arguments: str) -> tuple[float, float]:
    """Least time of a command as a whole process, of five: of the clock and of the processor [s]."""
    times, used = [], [of_children()]
    for _ in range(5):
        begun = time.perf_counter()
        subprocess.run([".venv/bin/holewright", *arguments], cwd=tree, env=env, check=True, capture_output=True)
        times.append(time.perf_counter() - begun)
        used.append(of_children())
    return min(times), min(after - before for before, after in pairwise(used))


def of_children() -> float:
    """Processor time of all processes that ended so far [s]."""
    found = resource.getrusage(resource.RUSAGE_CHILDREN)
    return found.ru_utime + found.ru_stime


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--minutes", type=float, default=0.3)
    minutes = options.parse_args().minutes
    with tempfile.TemporaryDirectory(prefix="newcomer-") as folder:
        tree, home = Path(folder, "tree"), Path(folder, "home")
        home.mkdir()
        copied(tree)
        env = environment(home)
        begun = time.perf_counter()
        subprocess.run([sys.executable, "-m", "venv", ".venv"], cwd=tree, env=env, check=True)
        subprocess.run(
            [".venv/bin/pip", "install", "-q", "-e", "."], cwd=tree, env=env, check=True, capture_output=True
        )
        print(f"installation: {time.perf_counter() - begun:.0f} s")
        cold, printed = first_layout(tree, env, "cold", minutes)
        print(f"first layout, cold: {cold:.1f} s\n\n{printed}")
        warm, _ = first_layout(tree, env, "warm", 0.1)
        print(f"first layout, warm: {warm:.1f} s")
        layout = sorted(str(path.relative_to(tree)) for path in tree.glob("cold/*/layouts/*.json"))[0]
        for name, *arguments in (
            ("--help", "--help"), ("check", "check", PROJECT), ("check --quick", "check", "--quick", PROJECT),
            ("show", "show", layout), ("predict", "predict", layout),
        ):  # fmt: skip
            took, used = least(tree, env, *arguments)
            print(f"{name}: {took:.2f} s, {used:.2f} s of the processor")


if __name__ == "__main__":
    main()
