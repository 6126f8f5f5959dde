"""What is left to settle, as a maker reads it."""

from optimizer.views.settling import settling_lines

BRIDGE = "part it by a bridge, or it holds the pieces together"


def test_what_holds_for_several_rods_is_said_once():
    # Layouts saved before call a rod an axle.
    lines = [f"the rod of {key} crosses joint 1: {BRIDGE}" for key in ("kA", "kB", "kC")]
    lines += [f"the axle of kD crosses joint 2: {BRIDGE}", "posts of kA and kB meet at 200 mm: let one post carry both"]
    lines += ["the rod of kB runs where the finger on h1 lies: lead it along another side (axle_deg)"]
    assert settling_lines(lines) == [
        "the rods of kA, kB and kC cross joint 1: part each by a bridge, or they hold the pieces together",
        f"the rod of kD crosses joint 2: {BRIDGE}",
        "posts of kA and kB meet at 200 mm: let one post carry both",
        "the rod of kB runs where the finger on h1 lies: lead it along another side (axle_deg)",
    ]
    assert settling_lines([]) == []
