"""Searches on real Rays that die or hang at many moments: each has to end in time, with a sentence and a whole folder.

    python tests/benchmarks/ray_deaths.py [--times 1]

On a Ray of the search's own, at work: its gcs_server killed, its raylet killed. On a cluster: its head killed, or held
still, while three searches join it, at different stages; a cluster without a core. times : how often each.
"""

import argparse
import os
import signal
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[1] / "kit"))

from lost_ray import lose
from processes import descendants, ended, started, wait_for
from ray_nodes import Cluster, bare_python, join, solving
from runs import ON_RAY
from shelf import PIPE

DELAYS = (5.0, 1.5, 0.0)
"""Seconds that searches have been at joining when the head goes."""


def own_ray(project: Path, place: Path, name: str) -> list[str]:
    """Sentences of a search whose own process of Ray by that name is killed at work."""
    options = ("--results", place, "--minutes", "30", "--workers", "1")
    process = started("search", project, *options, **ON_RAY)
    assert wait_for(lambda: solving(process))
    (victim,) = [pid for pid, line in descendants(process.pid).items() if f"/{name} " in line]
    return [sentence for _, sentence, _ in lose(lambda: os.kill(victim, signal.SIGKILL), {place: process})]


def joining(project: Path, place: Path, cluster: Cluster, how: str) -> list[str]:
    """Sentences of searches whose cluster goes while they join."""
    searches = join(cluster, project, place, DELAYS)
    return [sentence for _, sentence, _ in lose(getattr(cluster.head, how), searches)]


def coreless(project: Path, place: Path, cluster: Cluster) -> list[str]:
    """The sentence of a search on a cluster without a core."""
    cluster.node(0)
    code, _, err = ended(cluster.search(project, place))
    assert code == 2, err
    return [" ".join(err.splitlines()[-1].split())]


def main() -> None:
    """All of them, and what was said."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--times", type=int, default=1)
    for turn in range(parser.parse_args().times):
        with TemporaryDirectory(prefix="rd-", ignore_cleanup_errors=True) as place:
            folder = Path(place)
            project, python = folder / "pipe.toml", bare_python(folder / "bare")
            project.write_text(PIPE)
            for name in ("gcs_server", "raylet"):
                tell(turn, f"its own {name} killed", lambda: own_ray(project, folder / f"own-{name}", name))  # noqa: B023
            for how in ("kill", "hold", "coreless"):
                below = folder / how
                below.mkdir()
                cluster = Cluster(python, below)
                try:
                    what = coreless if how == "coreless" else joining
                    given = (project, below / "runs", cluster) + ((how,) if what is joining else ())
                    tell(turn, f"the cluster's head: {how}", lambda: what(*given))  # noqa: B023
                finally:
                    cluster.close()


def tell(turn: int, words: str, work) -> None:
    """Do it, and print its sentences and how long it took."""
    begun = time.monotonic()
    said = work()
    print(f"{turn} {words}, {time.monotonic() - begun:.0f} s")
    for sentence in said:
        print(f"    {sentence}", flush=True)


if __name__ == "__main__":
    main()
