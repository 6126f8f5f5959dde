"""The outer sampler: it stays in range, descends from the front, fills its gaps, and costs the same at any length."""

import math

import numpy as np
import optuna
import pytest
from shelf import PIPE, pipe

from optimizer.search.outer_level import Memory
from optimizer.search.pareto import Front
from optimizer.search.sampler import FrontSampler, Member


def curve(count, gap=()):
    """Members along a line of trade-offs, the share falling as the first objective rises; some places left empty."""
    places = [place for place in np.linspace(0.0, 1.0, count) if not any(low < place < high for low, high in gap)]
    return [
        Member(f"t{number:05d}", {"share": 10.0 ** (-4 * place), "kind": "a"}, (place, 1.0 - place), {})
        for number, place in enumerate(places)
    ]


def asked(sampler, count=200):
    study = optuna.create_study(sampler=sampler, directions=["minimize"] * 2)
    found = []
    for _ in range(count):
        trial = study.ask()
        share = trial.suggest_float("share", 1e-4, 1.0, log=True)
        found.append(
            (share, trial.suggest_categorical("kind", ("a", "b")), trial.suggest_categorical("start", ("x", "y")))
        )
        study.tell(trial, [0.0, 0.0])
    return found


@pytest.mark.parametrize("members", [[], curve(1), curve(2), curve(30)])
def test_proposals_stay_in_range(members):
    for share, kind, start in asked(FrontSampler(lambda: members, 1)):
        assert 1e-4 <= share <= 1.0
        assert kind in ("a", "b")
        assert start in ("x", "y")


def test_without_a_front_the_whole_range_is_drawn():
    # Logarithms of log-uniform draws over four decades: mean -2, standard deviation 4 / sqrt(12); 400 draws.
    logs = np.log10([share for share, _, _ in asked(FrontSampler(list, 3), 400)])
    assert np.mean(logs) == pytest.approx(-2.0, abs=4 * 1.155 / 20)
    assert np.std(logs) == pytest.approx(4 / math.sqrt(12), abs=0.15)


def test_a_gap_in_the_front_draws_proposals():
    # Members every 0.02 but none between 0.4 and 0.6, which is 20 % of the range: more proposals than that land there.
    members = curve(51, gap=[(0.4, 0.6)])
    shares = np.array([share for share, _, _ in asked(FrontSampler(lambda: members, 5), 600)])
    place = -np.log10(shares) / 4.0
    assert np.mean((place > 0.4) & (place < 0.6)) > 0.2


def test_equals_where_things_are_counted_all_become_parents():
    # Half of the pairs look at the count, and of those any of 15 with 1 may stand beside any of 15 with 2.
    members = [Member(f"t{number:05d}", {}, (number / 30.0, 1.0 + number // 15), {}) for number in range(30)]
    sampler = FrontSampler(lambda: members, 4)
    pairs = [sampler._neighbours(members) for _ in range(400)]
    across = {(one.id, other.id) for one, other in pairs if one.objectives[1] != other.objectives[1]}
    assert len(across) > 100


def test_descendants_inherit_and_the_rest_does_not():
    members = curve(20)
    starts = [start for _, _, start in asked(FrontSampler(lambda: members, 2, {"start": "y"}), 400)]
    # 70 % descend and take y; of the rest half: 85 %, give or take four standard deviations.
    assert np.mean([start == "y" for start in starts]) == pytest.approx(0.85, abs=4 * math.sqrt(0.85 * 0.15 / 400))


def test_the_same_seed_proposes_the_same_and_a_resumed_one_does_not_repeat():
    members = curve(20)
    first, second = (asked(FrontSampler(lambda: members, 7)) for _ in range(2))
    assert first == second
    later = FrontSampler(lambda: members, 7)
    later.begin_at(200)
    assert asked(later) != first


def test_the_search_goes_on_from_layouts_that_the_front_counts_as_the_same(record):
    # Half a cent apart: one box of the front, two of the memory, which reads no layout that does not join it; a third
    # is better in tune than either.
    def noted(memory, number, **figures):
        layout = record.model_copy(update={"id": f"t{number}", "objectives": record.objectives | figures})
        memory.note(layout, {"size": 0.5}, lambda: read.append(number) or layout)

    read, memory = [], Memory(pipe(PIPE).project)
    front = Front({"tuning": 2.5, "stretch": 1.0, "unevenness": 0.5})
    front.offer("best", record.objectives | {"tuning": 0.6, "stretch": 90.0})
    for number, figures in enumerate(({"tuning": 1.0, "stretch": 20.4}, {"tuning": 1.5, "stretch": 19.8})):
        noted(memory, number, **figures)
        front.offer(f"t{number}", record.objectives | figures)
    assert list(front.members) == ["t1", "best"]
    assert [member.id for member in memory.members] == ["t0", "t1"]
    noted(memory, 2, tuning=1.6, stretch=21.0)
    noted(memory, 3, tuning=0.9, stretch=20.1)
    assert [member.id for member in memory.members] == ["t1", "t3"]
    assert read == [0, 1, 3]
    assert memory.members[0].params == {"size": 0.5}
