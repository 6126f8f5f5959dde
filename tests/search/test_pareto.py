"""The front against a brute-force filter."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optimizer.project.objectives import OBJECTIVES
from optimizer.records.sameness import widths
from optimizer.search.pareto import Front, dominates

NAMES = ("tuning", "stretch", "unevenness")
FINE, WIDE = widths(NAMES, None), {"tuning": 2.4, "stretch": 1.0, "unevenness": 0.5}
points = st.lists(st.tuples(st.floats(0, 3), st.floats(0, 30), st.floats(0, 15)), min_size=1, max_size=40)
boxes = st.sampled_from([FINE, WIDE])


def better(a, b):
    """Nowhere worse and somewhere better, spelled out."""
    return all(x <= y for x, y in zip(a, b, strict=True)) and a != b


def offered(front, rows):
    """The front after it was offered (number, figures), in that order."""
    for number, row in rows:
        front.offer(f"t{number:05d}", dict(zip(front.names, row, strict=True)))
    return front


def box(row, wide):
    return tuple(v // wide[name] for name, v in zip(NAMES, row, strict=True))


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


@given(points, boxes)
def test_no_member_dominates_another(rows, wide):
    members = list(offered(Front(wide), enumerate(rows)).members.values())
    assert not any(better(a, b) for a in members for b in members)


@given(points, boxes)
def test_nothing_offered_beats_a_member_by_more_than_a_box(rows, wide):
    for member in offered(Front(wide), enumerate(rows)).members.values():
        for row in rows:
            if better(row, member):
                assert all(m - r < s for m, r, s in zip(member, row, wide.values(), strict=True))


@given(points, boxes)
def test_everything_offered_is_covered_by_a_member(rows, wide):
    # For each offered layout some member is at most one box worse anywhere: nothing of note is lost.
    members = offered(Front(wide), enumerate(rows)).members.values()
    for row in rows:
        assert any(all(m <= r + s for m, r, s in zip(member, row, wide.values(), strict=True)) for member in members)


@given(points, boxes)
def test_the_front_matches_a_brute_force_filter_of_boxes(rows, wide):
    # All boxes compared with all; of each that none beats the layout whose figures, in widths, have the least sum, and
    # of equal ones that of the first trial. Besides these the best in tune, to a tenth of a cent.
    def rank(number):
        return sum(v / wide[name] for name, v in zip(NAMES, rows[number], strict=True)), number

    found = {box(row, wide) for row in rows}
    best = {a for a in found if not any(better(b, a) for b in found)}
    expected = {min((n for n in range(len(rows)) if box(rows[n], wide) == one), key=rank) for one in best}
    expected.add(min(range(len(rows)), key=lambda number: (rows[number][0] // 0.1, rank(number))))
    held = offered(Front(wide), enumerate(rows)).members
    assert {int(name[1:]) for name in held} == expected


@given(points, boxes, st.randoms(use_true_random=False))
def test_a_front_does_not_depend_on_the_order_of_offers(rows, wide, random):
    numbered = [(number, (row[0], row[1] // 5, row[2] // 5)) for number, row in enumerate(rows)]  # ties among them
    shuffled = list(numbered)
    random.shuffle(shuffled)
    assert offered(Front(wide), numbered).members == offered(Front(wide), shuffled).members


def test_a_better_layout_takes_the_place_of_those_it_beats():
    front = Front(widths(("tuning", "stretch"), None))
    assert front.offer("a", {"tuning": 2.0, "stretch": 50.0}) == (True, [])
    assert front.offer("b", {"tuning": 4.0, "stretch": 10.0}) == (True, [])
    assert front.offer("c", {"tuning": 1.0, "stretch": 40.0}) == (True, ["a"])
    assert front.offer("d", {"tuning": 5.0, "stretch": 60.0}) == (False, [])
    assert front.ordered() == ["c", "b"]


def test_of_two_layouts_that_nobody_could_tell_apart_one_is_kept():
    # In tenths of a cent and percents: 20.4 + 50.2, then 20.3 + 50.4 and 20.1 + 50.1.
    front = Front(widths(("tuning", "stretch"), None))
    front.offer("t9", {"tuning": 2.04, "stretch": 50.2})
    assert front.offer("t8", {"tuning": 2.03, "stretch": 50.4}) == (False, [])
    assert front.offer("t11", {"tuning": 2.01, "stretch": 50.1}) == (True, ["t9"])
    assert front.offer("t12", {"tuning": 2.01, "stretch": 50.1}) == (False, [])
    assert front.offer("t10", {"tuning": 2.01, "stretch": 50.1}) == (True, ["t11"])


def test_within_the_doubt_of_tuning_the_other_objectives_decide():
    front = Front({"tuning": 2.4, "stretch": 1.0})
    front.offer("t1", {"tuning": 3.5, "stretch": 50.0})
    front.offer("t2", {"tuning": 2.3, "stretch": 60.0})
    assert front.offer("t3", {"tuning": 4.7, "stretch": 20.0}) == (True, ["t1"])
    assert front.offer("t4", {"tuning": 4.9, "stretch": 19.0}) == (True, [])


def test_no_box_loses_the_layout_best_in_tune():
    # As a pipe's front had it: 16.22 and 17.4 cents share a box 1.76 cents wide, where the lesser worst note decides.
    front = Front({"tuning": 1.76, "worst_note": 6.5})
    front.offer("t1", {"tuning": 16.22, "worst_note": 50.1})
    assert front.offer("t2", {"tuning": 17.4, "worst_note": 24.2}) == (True, [])
    assert front.ordered() == ["t1", "t2"]
    assert front.offer("t3", {"tuning": 16.25, "worst_note": 40.0}) == (True, ["t1"])  # alike to a tenth of a cent
    assert front.offer("t4", {"tuning": 16.4, "worst_note": 30.0}) == (False, [])
    assert front.offer("t5", {"tuning": 15.9, "worst_note": 60.0}) == (True, ["t3"])


def test_objectives_that_are_off_do_not_count():
    front = Front(widths(("tuning", "stretch"), None))
    front.offer("a", {"tuning": 2.0, "stretch": 50.0, "unevenness": 90.0})
    assert front.offer("b", {"tuning": 3.0, "stretch": 60.0, "unevenness": 1.0}) == (False, [])


def test_widths_are_the_resolutions_where_nothing_else_is_known():
    assert widths(OBJECTIVES, None) == {name: row.resolution for name, row in OBJECTIVES.items()}
