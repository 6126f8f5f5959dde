"""Thirty-eight beginnings: keyed families whose lowest sounding notes lie from A#0 to C4, six-hole pipes from C4 to C5,
for small and for large hands."""

from places import ROOT

from optimizer.beginning.answers import Answers

SMALL, LARGE = (ROOT / "configs" / "hands" / f"{name}.toml" for name in ("small-adult", "large-adult"))
CHILD = ROOT / "configs" / "hands" / "child-about-11.toml"
BED = ROOT / "configs" / "printers" / "filament-300.toml"


def _pair(told, *hands, **answers):
    return {f"{told}, {hand.stem}": Answers(name=told.title(), hand=hand, printer=BED, **answers) for hand in hands}


def _keyed(family, lowest, transposition, hands=(SMALL, LARGE), told="", **more):
    what = f"{family.removeprefix('keyed-')} from {lowest}{told}"
    return _pair(what, *hands, family=family, lowest=lowest, transposition_semitones=transposition, **more)


BEGINNINGS = {
    **_keyed("keyed-cone", "F1", 0, rows=True),
    **_keyed("keyed-cone", "C2", 0, rows=True),
    **_keyed("keyed-cone", "F2", 0, rows=True),
    **_keyed("keyed-cone", "C3", 0, rows=True),
    **_keyed("keyed-cone", "F3", 0),
    **_keyed("keyed-cone", "A3", 0),
    **_keyed("keyed-cone", "C4", 0),
    **_keyed("keyed-cone", "E3", 0, told=" without forks", forks=False),
    **_keyed("keyed-cone", "G3", 0, told=", twelve notes and no vent", hands=(SMALL,), notes=12, vents=False),
    **_keyed("keyed-cone", "G3", 0, told=" without side keys", hands=(LARGE,), side_keys=False),
    **_keyed("keyed-cylinder", "A#0", 0, rows=True),
    **_keyed("keyed-cylinder", "F1", 0, rows=True),
    **_keyed("keyed-cylinder", "C2", 0, rows=True),
    **_keyed("keyed-cylinder", "F2", 0, rows=True),
    **_keyed("keyed-cylinder", "C3", 0),
    **_keyed("keyed-cylinder", "E3", 0),
    **_keyed("keyed-cylinder", "A3", 0, hands=(SMALL,)),
    **_keyed("keyed-cylinder", "C4", 0, hands=(SMALL,), told=" without side keys", side_keys=False),
    **_pair("pipe from C4", LARGE, family="six-hole", lowest="C4"),
    **_pair("pipe from F4", SMALL, family="six-hole", lowest="F4"),
    **_pair("pipe from A4", SMALL, family="six-hole", lowest="A4"),
    **_pair("pipe from C5", CHILD, family="six-hole", lowest="C5"),
    **_pair(
        "cylinder pipe from C4", SMALL, family="six-hole", bore="cylinder", reed="single", lowest="C4", vents=False
    ),
    **_pair("pipe from D4 without forks", LARGE, family="six-hole", lowest="D4", forks=False),
}
"""By what they are."""
