"""What keys do to each other, and which of them one finger can hold at once.

Touches of one finger lie side by side in the order of the project's keys. A fingertip can roll over two neighbours; a
thumb can cover its hole and the touch next to it. Anything more a key must allow by naming it in `together`.
"""

from collections.abc import Iterable, Sequence

from optimizer.project.model import Hole, Key


def moving(pressed: Iterable[str], keys: Sequence[Key]) -> list[Key]:
    """Keys that move when these touches are pressed: pressed ones, and links by way of whatever moves them."""
    moved = set(pressed)
    while True:
        more = {key.id for key in keys if key.id not in moved and moved & set(key.moved_by)}
        if not more:
            return [key for key in keys if (key.id in moved and key.pressed) or moved & set(key.moved_by)]
        moved |= more


def circles(keys: Sequence[Key]) -> list[list[str]]:
    """Keys that move each other in a circle, each circle once; a key that names itself has its own touch."""
    movers = {key.id: [name for name in key.moved_by if name != key.id] for key in keys}
    found: list[list[str]] = []

    def follow(path: list[str]) -> None:
        for name in movers.get(path[-1], ()):
            if name in path:
                circle = path[path.index(name) :]
                if not any(set(circle) == set(other) for other in found):
                    found.append(circle)
            else:
                follow([*path, name])

    for name in movers:
        if not any(name in circle for circle in found):
            follow([name])
    return found


def keys_under(finger: str, keys: Sequence[Key]) -> list[Key]:
    """Keys that a finger presses itself, in the order in which their touches lie side by side."""
    return [key for key in keys if key.touch == finger and key.pressed]


def finger_conflict(pressed: set[str], holes: Sequence[Hole], keys: Sequence[Key]) -> str | None:
    """A sentence when these touches ask one finger to press two things that it cannot press at once."""
    for finger in dict.fromkeys(key.touch for key in keys):
        row = keys_under(finger, keys)
        held = [key for key in row if key.id in pressed]
        on_hole = finger in pressed and any(hole.by == finger for hole in holes)
        for first, second in ((a, b) for i, a in enumerate(held) for b in held[i + 1 :]):
            side_by_side = row.index(second) - row.index(first) == 1 and len(held) == 2 and not on_hole
            if not side_by_side and second.id not in first.together and first.id not in second.together:
                return (
                    f"{finger} cannot press {first.id} and {second.id} at once; give one of them another finger, or "
                    f"say `together = [{second.id!r}]` at {first.id}"
                )
        for key in held if on_hole else ():
            beside = finger[1] == "T" and key is row[0] and len(held) == 1
            if not beside and finger not in key.together:
                return (
                    f"{finger} lies on its hole and cannot press {key.id} as well; give the key another finger, or "
                    f"say `together = [{finger!r}]` at {key.id}"
                )
    return None
