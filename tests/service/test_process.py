"""A search that the service starts, by its README's own example: queued, searched in a process of its own, asked for
what it recommends.

`tests/benchmarks/long` tells of a whole day, with a service that is killed meanwhile.
"""

import sys

from processes import wait_for
from readme_examples import FEW, example, run_example
from served import served
from shelf import PIPE

from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord


def test_a_search_by_the_readmes_example_ends_and_its_best_layout_is_saved(tmp_path):
    (tmp_path / "configs").mkdir()
    (tmp_path / "configs" / "meadow-pipe.toml").write_text(PIPE)
    with served(tmp_path / "results", projects=tmp_path / "configs", running_most=1) as client:
        said = run_example([sys.executable, "-W", "error", "-c"], example("python", "urllib"), tmp_path, client.port)
        run, state, best, sentence = said.splitlines()[-1].split(" ", 3)
        found = client.get(f"/runs/{run}").json
        assert (state, found["trials_done"], found["ended_by"]) == ("ended", FEW, "trials")
        record = read_record(tmp_path / "best.json", LayoutRecord)
        assert record.id == best
        assert sentence == client.get(f"/runs/{run}/recommendation").json["picks"][0]["sentence"]
        assert client.post(f"/runs/{run}/resume", {"trials": 1, "workers": 1}).status == 202
        assert wait_for(lambda: client.get(f"/runs/{run}").json["trials_done"] == FEW + 1)
        assert wait_for(lambda: client.get(f"/runs/{run}").json["state"] == "ended")
