"""A pool of stand-ins as a process of its own, `python stub_pool.py local|ray FOLDER`: it notes in the folder what
became of their trials, then gives them such as never end, and waits to be killed."""

import json
import sys
import time
from contextlib import contextmanager
from pathlib import Path

from stub_solver import Asked, Stub

from optimizer.search.workers import Workers


@contextmanager
def workers(kind, folder):
    """Two workers of a kind."""
    if kind == "local":
        from optimizer.search.local_crew import LocalCrew

        found = Workers(LocalCrew(2, Stub, (folder,)))
        yield found
        found.close()
    else:
        from optimizer.search.ray_crew import open_ray

        with open_ray("local", 2, Stub, (folder,)) as crew:
            yield Workers(crew)


def outcome(pool, patterns):
    """Number to answer of trials, once all are done: the process that solved it, or a sentence."""
    waiting = [Asked(number, pattern) for number, pattern in enumerate(patterns)]
    found = {}
    while len(found) < len(patterns):
        while waiting and pool.free():
            pool.submit(waiting.pop(0))
        for number, result in pool.finished(0.5):
            assert number not in found
            found[number] = result if isinstance(result, str) else int(result.record_json)
    assert not pool.busy()
    return [found[number] for number in range(len(patterns))]


def main(kind, folder):
    with workers(kind, folder) as pool:
        said = {"count": pool.count, "kind": pool.kind}
        said |= {name: outcome(pool, patterns) for name, patterns in {
            "plain": ["plain"] * 8,
            "one fails": ["fails", "plain", "plain"],
            "one dies once": ["plain", "dies once", "plain", "plain"],
            "one always dies": ["dies", "plain"],
        }.items()}  # fmt: skip
        said["ray"] = "ray" in sys.modules
        (Path(folder) / "said.json").write_text(json.dumps(said))
        for number in (100, 101):
            while not pool.free():
                list(pool.finished(0.1))
            pool.submit(Asked(number, "hangs"))
        while True:
            time.sleep(60)


if __name__ == "__main__":
    main(*sys.argv[1:])
