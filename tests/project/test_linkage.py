"""What keys do to each other and what one finger can press at once, on a table of keys read like a player would."""

import pytest
from shelf import KEYED, changed, pipe

from optimizer.project.chart import idle_keys, openness_of_touches
from optimizer.project.linkage import circles, finger_conflict, keys_under, moving
from optimizer.project.loading import ProjectError, load_project
from optimizer.project.model import Hole, Key
from optimizer.project.rows import resting_keys


def key(name, touch, **more):
    return Key(id=name, touch=touch, **({"closes": ["a"]} | more))


def hole(name, by="key", **more):
    return Hole(id=name, by=by, position_mm=100.0, diameter_mm=5.0, chimney_mm=4.0, **more)


HOLES = [hole("a"), hole("b", "L1"), hole("c", "LT")]
TABLE = [key("k1", "L4"), key("k2", "L4"), key("k3", "L4"), key("t1", "LT"), key("t2", "LT"), key("s", "L1")]


@pytest.mark.parametrize(
    ("pressed", "said"),
    [
        ({"k1"}, None),
        ({"k1", "k2"}, None),  # side by side: the little finger rolls
        ({"k2", "k3"}, None),
        ({"k1", "k3"}, "L4 cannot press k1 and k3 at once"),  # one lies between
        ({"k1", "k2", "k3"}, "L4 cannot press k1 and k2 at once"),  # three touches, one finger
        ({"LT", "t1"}, None),  # the thumb rocks from its hole to the touch beside it
        ({"LT", "t2"}, "LT lies on its hole and cannot press t2 as well"),
        ({"LT", "t1", "t2"}, "LT cannot press t1 and t2 at once"),
        ({"t1", "t2"}, None),
        ({"L1", "s"}, "L1 lies on its hole and cannot press s as well"),
        ({"s", "k1", "t1"}, None),  # three fingers
    ],
)
def test_what_one_finger_can_press(pressed, said):
    found = finger_conflict(pressed, HOLES, TABLE)
    assert found is None if said is None else found.startswith(said)


def test_together_allows_what_a_hand_does_anyway():
    keys = [key("p1", "L1", together=["p2", "p3"]), key("p2", "L1", together=["p3"]), key("p3", "L1")]
    assert finger_conflict({"p1", "p2", "p3"}, HOLES, keys) is None
    assert finger_conflict({"p1", "p3"}, HOLES, keys) is None
    assert finger_conflict({"L1", "p3"}, HOLES, keys) is not None
    assert finger_conflict({"L1", "s"}, HOLES, [key("s", "L1", together=["L1"])]) is None


def test_links_have_no_touch_of_their_own():
    keys = [key("k", "L4"), key("link", "L4", moved_by=["L1"]), key("both", "L4", moved_by=["both", "L1"])]
    assert [one.id for one in keys_under("L4", keys)] == ["k", "both"]


def test_a_link_moves_what_is_linked_to_it():
    # L1 moves one, which moves two, which moves three; the fourth waits for another finger.
    keys = [
        key("three", "L1", moved_by=["two"]),
        key("two", "L1", moved_by=["one"]),
        key("one", "L1", moved_by=["L1"]),
        key("four", "R1", moved_by=["R1"]),
    ]
    assert {one.id for one in moving({"L1"}, keys)} == {"one", "two", "three"}
    assert moving({"R2"}, keys) == []
    assert openness_of_touches({"L1"}, [hole("a"), hole("b", "L1")], keys) == (0.0, 0.0)


@pytest.mark.parametrize(
    ("movers", "expected"),
    [
        ({"a": ["b"], "b": ["c"], "c": ["L1"]}, []),
        ({"a": ["a", "L1"]}, []),  # its own touch
        ({"a": ["b"], "b": ["a"]}, [{"a", "b"}]),
        ({"a": ["b"], "b": ["c"], "c": ["b"]}, [{"b", "c"}]),  # a hangs on the circle, but is no part of it
        ({"a": ["b"], "b": ["a"], "c": ["d"], "d": ["c"]}, [{"a", "b"}, {"c", "d"}]),
    ],
)
def test_circles_of_links_are_found_once(movers, expected):
    found = circles([key(name, "L1", moved_by=by) for name, by in movers.items()])
    assert [set(circle) for circle in found] == expected


def test_a_line_that_asks_too_much_of_a_finger_is_named():
    text = changed("E5   2  LT L13 R12 octave", "E5   2  LT L13 R12 octave more", KEYED).replace(
        "[chart]", 'more = { touch = "LT", opens = ["h1"] }\n[chart]'
    )
    with pytest.raises(ProjectError) as caught:
        pipe(text)
    assert caught.value.problems == [
        "chart.lines ('E5   2  LT L13 R12 octave more'): LT cannot press octave and more at once; give one of "
        "them another finger, or say `together = ['more']` at octave"
    ]


def test_keys_that_no_line_moves_are_told():
    loaded = pipe(changed("F#4  1  LT L13 R12 kLow\n", "", KEYED))
    assert idle_keys(loaded.notes, loaded.project.keys) == ["kLow"]
    lazy = pipe(changed('moved_by = ["R1", "R2"]', 'moved_by = ["R4"]', KEYED))
    assert idle_keys(lazy.notes, lazy.project.keys) == ["link"]
    whole = pipe(KEYED)
    assert idle_keys(whole.notes, whole.project.keys) == []


@pytest.mark.parametrize(
    "name", ["lantern-tenor", "lantern-tenor-low-a", "attic-reed", "meadow-pipe", "cellar-bass", "stairwell-contra"]
)
def test_the_demos_use_every_key(name, pytestconfig):
    loaded = load_project(pytestconfig.rootpath / "configs" / f"{name}.toml")
    project = loaded.project
    resting = resting_keys(project.rows, project.holes, project.keys)
    assert idle_keys(loaded.notes, project.keys, resting) == []
