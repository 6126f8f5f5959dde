"""Searches on real Rays that die or hang at many moments: each has to end in time, with a sentence and a whole folder.

    python tests/benchmarks/ray_deaths.py [--times 1] [--only WORDS]

On a Ray of the search's own: stopped while it starts; its raylet killed while it starts, then its worker, then the
driver; at work, its gcs_server killed, its raylet killed, and taken up from there; its raylet held still for longer
than Ray waits for one; one of its two workers let go on for a tenth of the time. On a cluster: nodes of one, two and
one core that come and go; a node that is let go on for a tenth of the time, and one that is held still until it is
given up, then goes on; its only node with a core lost for a while; its head killed, or held still, while three searches
join it, at different stages, and one is at work; a cluster without a core. times : how often each; only : cases whose
name has this in it.
"""

import argparse
import os
import signal
import sys
import time
from collections.abc import Callable, Iterator
from itertools import pairwise
from pathlib import Path
from subprocess import Popen
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[1] / "kit"))

import optuna
from interruptions import interrupted
from lived import Lived
from lost_ray import lose
from optuna.trial import TrialState
from processes import alive, descendants, ended, started, wait_for
from ray_nodes import HASTY, SOON, Cluster, Node, bare_python, join, raylet_of, solving, throttled
from runs import ON_RAY, done, finished, in_state, only_run, progress, states, trials, workers_of
from shelf import PIPE

from optimizer.records.files import read_record
from optimizer.records.run import RunRecord
from optimizer.search.ray_crew import NO_CORE
from optimizer.search.study import AGAIN_OF
from optimizer.solving.time_left import grace

DELAYS = (5.0, 1.5, 0.0)
"""Seconds by which searches join before the last of them, and are the further when the head goes."""


def own_ray(project: Path, place: Path, name: str) -> list[str]:
    """Sentences of a search whose own process of Ray by that name is killed at work."""
    options = ("--results", place, "--minutes", "30", "--workers", "1")
    process = started("search", project, *options, **ON_RAY)
    assert wait_for(lambda: solving(process))
    (victim,) = [pid for pid, line in descendants(process.pid).items() if f"/{name} " in line]
    return [sentence for _, sentence, _ in lose(lambda: os.kill(victim, signal.SIGKILL), {place: process})]


def stopped(project: Path, place: Path, moment: str) -> list[str]:
    """Nothing but progress, of a search stopped while Ray starts."""
    run = Lived(project, place)
    run.stopped(run.begun(), moment)
    return []


def lived(project: Path, place: Path) -> list[str]:
    """The sentence of a run whose Ray dies while it starts, then its worker, then its driver; taken up, whose raylet
    dies; taken up, and interrupted: no finished trial is lost."""
    run = Lived(project, place)
    process = run.begun()
    os.kill(wait_for(lambda: raylet_of(process))[0], signal.SIGKILL)  # as where the machine is too busy for it
    run.worker_lost(process)
    run.solved(process)
    below = set(descendants(process.pid))
    process.kill()
    run.note(process.communicate()[1])
    assert wait_for(lambda: not alive(below), 30), "orphans"
    assert "in this process alone; Ray did not start, trying again (2 of 3)" in run.said[0]

    process = run.begun()
    run.solved(process)
    ((_, sentence, said),) = lose(lambda: os.kill(raylet_of(process)[0], signal.SIGKILL), {place: process})
    run.note(said)
    assert sentence.startswith("Ray's process raylet on this machine died during the search; what was finished is safe")

    process = run.begun()
    run.solved(process)
    run.interrupted(process)
    for before, after in pairwise(run.held):
        assert before.items() < after.items()
    assert "Traceback" not in "".join(run.said)
    return [sentence]


def coming_and_going(project: Path, place: Path, cluster: Cluster) -> list[str]:
    """Who solved, as it was told, of a search whose cluster's nodes come and go, stopped in the end."""
    head, process = cluster.head, cluster.search(project, place)
    assert wait_for(lambda: done(place) >= 1 and progress(place).workers == 1 and head.solving() == 1)
    wide = cluster.node(2)
    assert wait_for(lambda: progress(place).workers == 3)
    assert wait_for(lambda: wide.solving() == 2), "the new node's cores are not used"
    folder = only_run(place)
    last = max(states(folder))
    assert wait_for(lambda: len([one for one in in_state(folder, TrialState.COMPLETE) if one > last]) >= 4)
    under_way = in_state(folder, TrialState.RUNNING)
    wide.kill()
    assert wait_for(lambda: progress(place).workers == 1)
    spare = cluster.node(1)
    assert wait_for(lambda: progress(place).workers == 2 and spare.solving() == 1)
    assert len(under_way) >= 2
    assert wait_for(lambda: under_way <= in_state(folder, TrialState.COMPLETE)), "a trial was lost with its node"
    code, err = interrupted(process, signal.SIGTERM, place, 3)
    assert code == 0, err
    assert "Traceback" not in err
    run = read_record(folder / "run.json", RunRecord)
    assert (run.ended_by, run.trials_failed) == ("termination", 0)
    assert run.trials_done == len(in_state(folder, TrialState.COMPLETE))
    told = ["in this process alone", "on 1 Ray worker", "on 3 Ray workers", "on 2 Ray workers"]
    assert all(words in err for words in told)
    return told


def all_gone(project: Path, place: Path, cluster: Cluster) -> list[str]:
    """Trials of a search whose only node with a core is lost at work, and comes again: the driver goes on meanwhile,
    says why, and what the node had is solved by the next."""
    cluster.node(0)
    lost, process = cluster.node(1), cluster.search(project, place)
    assert wait_for(lambda: done(place) >= 1 and lost.solving() == 1)
    folder = only_run(place)
    under_way = in_state(folder, TrialState.RUNNING)
    lost.kill()
    assert wait_for(lambda: progress(place).workers == 0)
    before, begun = done(place), time.monotonic()
    assert wait_for(lambda: done(place) >= before + 3), "nothing is solved while no node is there"
    seconds = time.monotonic() - begun
    again = cluster.node(1)
    assert wait_for(lambda: progress(place).workers == 1 and again.solving() == 1)
    assert wait_for(lambda: under_way <= in_state(folder, TrialState.COMPLETE)), "a trial was lost with its node"
    code, err = interrupted(process, signal.SIGTERM, place, 3)
    assert (code, "Traceback" in err) == (0, False), err
    assert NO_CORE in err
    run = read_record(folder / "run.json", RunRecord)
    assert (run.trials_failed, run.trials_done) == (0, len(finished(folder)))
    return [f"three trials in {seconds:.1f} s without a node, {run.trials_done} trials in all"]


def held(project: Path, place: Path) -> list[str]:
    """The sentence of a search whose own raylet is held still, and how many trials it is taken up for."""
    options = ("--results", place, "--minutes", "30", "--workers", "1")
    process = started("search", project, *options, **ON_RAY, **HASTY)
    assert wait_for(lambda: solving(process))
    raylet = raylet_of(process)[0]
    ((folder, sentence, _),) = lose(lambda: os.kill(raylet, signal.SIGSTOP), {place: process})
    before = finished(folder)
    code, _, err = ended(started("resume", folder, "--trials", "2", "--workers", "1"))
    assert code == 0, err
    assert before.items() < finished(folder).items()
    return [sentence, f"{len(before)} trials, then {len(finished(folder))}"]


def slow_worker(project: Path, place: Path) -> list[str]:
    """How long a search of half a minute took, one of whose two workers hardly goes on, and its trials."""
    process = started("search", project, "--results", place, "--minutes", "0.7", "--workers", "2", **ON_RAY)
    assert wait_for(lambda: len(workers_of(process)) == 2 and solving(process))
    below = set(descendants(process.pid))
    with throttled(workers_of(process)[:1]):
        code, _, err = ended(process)
    assert code == 0, err
    assert wait_for(lambda: not alive(below), 10), "processes are left"
    run, seconds = read_record(only_run(place) / "run.json", RunRecord), progress(place).elapsed_seconds
    assert seconds <= 42.0 + grace(42.0), f"it took {seconds} s"
    assert (run.ended_by, run.trials_failed, run.trials_done) == ("time", 0, len(finished(only_run(place))))
    return [f"{seconds:.0f} s, {run.trials_done} trials"]


def slow_node(project: Path, place: Path, cluster: Cluster) -> list[str]:
    """Trials of a search one of whose nodes hardly goes on for half a minute: none is lost, none is done twice."""
    process, slow = _on_two(project, place, cluster)
    folder = only_run(place)
    under_way = in_state(folder, TrialState.RUNNING)
    with throttled([slow.process.pid, *descendants(slow.process.pid)]):
        assert wait_for(lambda: under_way <= in_state(folder, TrialState.COMPLETE)), "a trial was lost"
        time.sleep(30.0)
    return [_stopped_well(process, place, folder)]


def node_given_up(project: Path, place: Path, cluster: Cluster) -> list[str]:
    """Trials of a search one of whose nodes hangs until its head gives it up, then goes on: it is not used again, what
    it solved is solved elsewhere, and nothing of it is told twice."""
    process, hung = _on_two(project, place, cluster)
    folder, below = only_run(place), set(descendants(hung.process.pid))
    hung.hold()
    under_way = in_state(folder, TrialState.RUNNING)
    assert wait_for(lambda: progress(place).workers == 1), "the node is not given up"
    hung.let_go()
    assert wait_for(lambda: under_way <= in_state(folder, TrialState.COMPLETE)), "a trial was lost with its node"
    assert wait_for(lambda: not alive(below), 60), "the node goes on"
    return [_stopped_well(process, place, folder)]


def _on_two(project: Path, place: Path, cluster: Cluster) -> tuple[Popen, Node]:
    """A search at work on the head and on one more node."""
    head, process = cluster.head, cluster.search(project, place)
    other = cluster.node(1)
    assert wait_for(lambda: done(place) >= 1 and head.solving() == 1 and other.solving() == 1)
    return process, other


def _stopped_well(process: Popen, place: Path, folder: Path) -> str:
    """Stop a search; how many trials it came to, each told once."""
    code, err = interrupted(process, signal.SIGTERM, place, 3)
    assert code == 0, err
    assert "Traceback" not in err
    run, told = read_record(folder / "run.json", RunRecord), [one for one in trials(folder) if one.user_attrs]
    again = [one.user_attrs[AGAIN_OF] for one in told if AGAIN_OF in one.user_attrs]
    assert len(again) == len(set(again)), "a trial was asked for again twice"
    assert (run.ended_by, run.trials_failed, run.trials_done) == ("termination", 0, len(finished(folder)))
    return f"{run.trials_done} trials"


def joining(project: Path, place: Path, cluster: Cluster, how: str) -> list[str]:
    """Sentences of searches whose cluster goes while they join; one is at work."""
    at_work = place / "at work"
    searches = {at_work: cluster.search(project, at_work)}
    assert wait_for(lambda: done(at_work) >= 1 and cluster.head.solving() == 1)
    searches |= join(cluster, project, place, DELAYS)
    return [sentence for _, sentence, _ in lose(getattr(cluster.head, how), searches)]


def coreless(project: Path, place: Path, cluster: Cluster) -> list[str]:
    """The sentence of a search on a cluster without a core."""
    cluster.node(0)
    code, _, err = ended(cluster.search(project, place))
    assert code == 2, err
    return [" ".join(err.splitlines()[-1].split())]


def on_clusters(turn: int, project: Path, python: Path, folder: Path, only: str) -> None:
    """What is done to clusters, each a new one."""
    for how, what, looks in (
        ("nodes come and go", coming_and_going, SOON), ("a slow node", slow_node, SOON),
        ("a node that hangs", node_given_up, HASTY), ("all nodes go", all_gone, SOON),
        ("kill", joining, SOON), ("hold", joining, SOON), ("no core", coreless, SOON),
    ):  # fmt: skip
        if only not in f"a cluster: {how}":
            continue
        below = folder / how.replace(" ", "-")
        below.mkdir()
        cluster = Cluster(python, below, looks)
        given = (project, below / "runs", cluster) + ((how,) if what is joining else ())
        try:
            tell(turn, f"a cluster: {how}", what, given)
        finally:
            cluster.close()


def main() -> None:
    """All of them, and what was said."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--times", type=int, default=1)
    parser.add_argument("--only", default="")
    chosen = parser.parse_args()
    optuna.logging.set_verbosity(optuna.logging.ERROR)
    for turn in range(chosen.times):
        with TemporaryDirectory(prefix="rd-", ignore_cleanup_errors=True) as place:
            folder = Path(place)
            project, python = folder / "pipe.toml", bare_python(folder / "bare")
            project.write_text(PIPE)
            for words, what, given in alone():
                if chosen.only in words:
                    tell(turn, words, what, (project, folder / words.replace(" ", "-"), *given))
            on_clusters(turn, project, python, folder, chosen.only)


def alone() -> Iterator[tuple[str, Callable[..., list[str]], tuple[str, ...]]]:
    """What is done to Rays of a search's own."""
    for moment in ("its process begins", "it registers"):
        yield f"stopped when {moment}", stopped, (moment,)
    yield "through all", lived, ()
    for name in ("gcs_server", "raylet"):
        yield f"its own {name} killed", own_ray, (name,)
    yield "its own raylet held", held, ()
    yield "a slow worker", slow_worker, ()


def tell(turn: int, words: str, what: Callable[..., list[str]], given: tuple) -> None:
    """Do it, and print its sentences and how long it took."""
    begun = time.monotonic()
    said = what(*given)
    print(f"{turn} {words}, {time.monotonic() - begun:.0f} s")
    for sentence in said:
        print(f"    {sentence}", flush=True)


if __name__ == "__main__":
    main()
