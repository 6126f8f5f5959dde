"""The front against a brute-force filter."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.project.objectives import OBJECTIVES
from optimizer.search.pareto import Front, dominates

NAMES = ("tuning", "stretch", "unevenness")
points = st.lists(st.tuples(st.floats(0, 3), st.floats(0, 30), st.floats(0, 15)), min_size=1, max_size=40)


def better(a, b):
    """Nowhere worse and somewhere better, spelled out."""
    return all(x <= y for x, y in zip(a, b, strict=True)) and a != b


def offered(front, rows):
    for number, row in enumerate(rows):
        front.offer(f"t{number:05d}", dict(zip(front.names, row, strict=True)))
    return front


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        ((1, 1), (2, 2), True), ((1, 2), (2, 2), True), ((2, 2), (2, 2), False), ((1, 3), (2, 2), False),
        ((3, 1), (2, 2), False), ((2, 2), (1, 1), False),
    ],
)  # fmt: skip
def test_dominance(first, second, expected):
    assert dominates(first, second) is expected


@given(points)
def test_dominance_is_a_strict_order(rows):
    for a in rows:
        assert not dominates(a, a)
        for b in rows:
            assert dominates(a, b) == better(a, b)
            assert not (dominates(a, b) and dominates(b, a))


@given(points)
def test_no_member_dominates_another(rows):
    members = list(offered(Front(NAMES), rows).members.values())
    assert not any(better(a, b) for a in members for b in members)


@given(points)
def test_nothing_offered_beats_a_member_by_more_than_the_resolution(rows):
    step = [OBJECTIVES[name].resolution for name in NAMES]
    for member in offered(Front(NAMES), rows).members.values():
        for row in rows:
            if better(row, member):
                assert all(m - r < s for m, r, s in zip(member, row, step, strict=True))


@given(points)
def test_everything_offered_is_covered_by_a_member(rows):
    # For each offered layout some member is at most one box worse anywhere: nothing of note is lost.
    members = offered(Front(NAMES), rows).members.values()
    step = [OBJECTIVES[name].resolution for name in NAMES]
    for row in rows:
        assert any(all(m <= r + s for m, r, s in zip(member, row, step, strict=True)) for member in members)


@given(points)
def test_the_front_matches_a_brute_force_filter_of_boxes(rows):
    # Boxes of the resolution, filtered by comparing all with all; the front holds exactly one layout of each.
    def box(row):
        return tuple(v // OBJECTIVES[name].resolution for name, v in zip(NAMES, row, strict=True))

    boxes = {box(row) for row in rows}
    best = {a for a in boxes if not any(better(b, a) for b in boxes)}
    held = [box(row) for row in offered(Front(NAMES), rows).members.values()]
    assert sorted(held) == sorted(best)


@given(points, st.randoms(use_true_random=False))
def test_the_boxes_of_a_front_do_not_depend_on_the_order_of_offers(rows, random):
    def boxes(front):
        return sorted(
            tuple(v // OBJECTIVES[n].resolution for n, v in zip(NAMES, row, strict=True))
            for row in front.members.values()
        )

    shuffled = list(rows)
    random.shuffle(shuffled)
    assert boxes(offered(Front(NAMES), rows)) == boxes(offered(Front(NAMES), shuffled))


def test_a_better_layout_takes_the_place_of_those_it_beats():
    front = Front(("tuning", "stretch"))
    assert front.offer("a", {"tuning": 2.0, "stretch": 50.0}) == (True, [])
    assert front.offer("b", {"tuning": 4.0, "stretch": 10.0}) == (True, [])
    assert front.offer("c", {"tuning": 1.0, "stretch": 40.0}) == (True, ["a"])
    assert front.offer("d", {"tuning": 5.0, "stretch": 60.0}) == (False, [])
    assert front.ordered() == ["c", "b"]


def test_of_two_layouts_that_nobody_could_tell_apart_one_is_kept():
    front = Front(("tuning", "stretch"))
    front.offer("a", {"tuning": 2.04, "stretch": 50.2})
    assert front.offer("b", {"tuning": 2.03, "stretch": 50.3}) == (False, [])
    assert front.offer("c", {"tuning": 2.01, "stretch": 50.1}) == (True, ["a"])


def test_objectives_that_are_off_do_not_count():
    front = Front(("tuning", "stretch"))
    front.offer("a", {"tuning": 2.0, "stretch": 50.0, "unevenness": 90.0})
    assert front.offer("b", {"tuning": 3.0, "stretch": 60.0, "unevenness": 1.0}) == (False, [])
