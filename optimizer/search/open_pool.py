"""Who solves the trials of a search: processes of this machine, or Ray's workers where RAY_ADDRESS is set."""

import os
from collections.abc import Iterator
from contextlib import contextmanager

from optimizer.project.loading import LoadedProject
from optimizer.search.local_crew import LocalCrew
from optimizer.search.pool import Here, Meanwhile, Pool
from optimizer.search.trial import Solver
from optimizer.search.workers import Workers


@contextmanager
def open_pool(loaded: LoadedProject, wanted: int | None) -> Iterator[Pool]:
    """Those who solve a project's trials, until the end of the block.

    Parameters
    ----------
    loaded : the project
    wanted : how many solve at once; default one per core of this machine or of the cluster, and never more than a
        cluster has. A single one on this machine is this process itself.

    Raises
    ------
    ConnectionError
        when no cluster answers at RAY_ADDRESS, and when Ray dies during the block
    """
    address, count = os.environ.get("RAY_ADDRESS"), wanted or os.cpu_count() or 1
    given = loaded.text, loaded.source
    if address:
        from optimizer.search.ray_crew import open_ray

        with open_ray(address, wanted, Solver, given) as crew:
            yield Meanwhile(Workers(crew), Here(Solver(*given)))
    elif count == 1:
        yield Here(Solver(*given))
    else:
        workers = Workers(LocalCrew(count, Solver, given))
        try:
            yield Meanwhile(workers, Here(Solver(*given)))
        finally:
            workers.close()
