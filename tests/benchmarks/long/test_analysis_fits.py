"""One project under three hands, on the practice pipe."""

import json

import jsonschema
from commanded import told
from shelf import PIPE

from optimizer.records.files import read_record
from optimizer.records.fits import HandsRecord
from optimizer.records.kinds import schema_text

SMALL = """\
name = "small"
left = { index_middle_mm = [17, 18], middle_ring_mm = [17, 18], index_ring_mm = [34, 36] }
right = { index_middle_mm = [17, 18] }
"""
LARGE = """\
name = "large"
left = { index_middle_mm = [40, 50], middle_ring_mm = [40, 50], index_ring_mm = [80, 100] }
right = { index_middle_mm = [40, 50] }
"""
NO_ROOM = LARGE.replace('"large"', '"far apart"') + "hand_gap_min_mm = 140\n"
"""The hands come at most 130 mm apart: g1 at most at 300, g2 at least at 170, and 15 mm of touch for each plate."""


def valid(path, kind):
    jsonschema.Draft202012Validator(json.loads(schema_text(kind))).validate(json.loads(path.read_text()))
    return path


def test_hands_side_by_side(tmp_path, capsys):
    (tmp_path / "pipe.toml").write_text(PIPE)
    (tmp_path / "hands").mkdir()
    for name, text in {"a-small": SMALL, "b-large": LARGE, "c-far": NO_ROOM.replace("140", "180")}.items():
        (tmp_path / "hands" / f"{name}.toml").write_text(text)
    arguments = ("--minutes", 0.5, "--workers", 1, "--out", tmp_path / "out")
    code, out, err = told(capsys, "hands", tmp_path / "pipe.toml", *arguments)
    record = read_record(valid(tmp_path / "out" / "hands.json", "hands"), HandsRecord)
    small, large, far = record.hands
    assert [small.hand, large.hand, far.hand] == ["small", "large", "far apart"]
    # 130 mm between the hands and 15 mm more for the plate on each side: 160 of the 180 wanted.
    assert code == 1
    assert not far.feasible
    assert far.best.violation_mm > 1.0
    assert "hand_gap.L3-R1" in " ".join(far.problems)
    assert "far apart found no room" in out
    assert small.feasible
    assert large.feasible
    # What the large hand reaches it reaches bare, and its limits lie outside the small one's.
    assert large.fewest_plates.plates == []
    assert large.best.objectives["tuning"] <= small.best.objectives["tuning"] + 0.1
    assert min(small.dearer_cents, large.dearer_cents) == 0.0
    for entry in (small, large):
        assert len(entry.fewest_plates.plates) <= len(entry.best.plates)
        assert valid(tmp_path / "out" / entry.best.file, "layout").exists()
        assert valid(tmp_path / "out" / entry.fewest_plates.file, "layout").exists()
    assert "3 of 3 hands" in err
    assert "to go" in err
