"""One project under several hands, and single ways out of a reach that binds, on the practice pipe."""

import dataclasses
import json

import jsonschema
import pytest
from rows import CONE
from shelf import PIPE, changed, pipe

from optimizer.analysis.relief_candidates import holes_of, reliefs_of
from optimizer.analysis.reliefs import STARTS, relieved
from optimizer.commands.cli import main
from optimizer.commands.fits import KINDS
from optimizer.limits.catalogue import of_the_hand
from optimizer.project.hand import pair_limits
from optimizer.records.files import read_record
from optimizer.records.fits import HandsRecord, ReliefsRecord
from optimizer.records.kinds import schema_text
from optimizer.records.layout import saved_numbers
from optimizer.solving.fitting import Fitting
from optimizer.solving.processes import Processes

TIGHT = (
    PIPE + "\n[hand]\nleft = { index_middle_mm = [14, 17.5], middle_ring_mm = [14, 17.5], index_ring_mm = [29, 35] }\n"
)
"""A left hand whose fingers have half a millimetre between the room they need (17 mm) and their reach."""

LARGE = """\
name = "large"
left = { index_middle_mm = [40, 50], middle_ring_mm = [40, 50], index_ring_mm = [80, 100] }
right = { index_middle_mm = [40, 50] }
"""


def told(capsys, *arguments):
    """Run the command: exit code, standard output, standard error."""
    code = main([str(argument) for argument in arguments])
    streams = capsys.readouterr()
    return code, streams.out, streams.err


def valid(path, kind):
    jsonschema.Draft202012Validator(json.loads(schema_text(kind))).validate(json.loads(path.read_text()))
    return path


@pytest.fixture(scope="module")
def tight():
    """What plates do for the tight hand, solved in this process."""
    progress = []

    def told(done, of):
        progress.append((done, of))

    return relieved(pipe(TIGHT), None, Processes(None), 900.0, told, ("plate",)), progress


def test_names_of_limits_lead_to_holes():
    project = pipe(PIPE).project
    assert of_the_hand(["reach.L1-L2", "web.g1-g2", "seal.g1", "range.end_mm"]) == ["reach.L1-L2", "seal.g1"]
    # L1 lies on g4, L2 on g3, the last two of four; g1 is the first.
    assert holes_of(["reach.L1-L2", "seal.g1", "web.g1-g2"], project) == [0, 2, 3]


def test_each_relief_changes_one_thing():
    loaded = pipe(TIGHT)
    found = {way.name: way for way in reliefs_of(["reach.L1-L2"], loaded.project)}
    assert set(found) == {
        "plate.g3", "plate.g4", "key.g3", "key.g4", "maximum.L1-L2", "bore.narrower", "wider.g3", "wider.g4",
        "turned.g3+20", "turned.g3-20", "turned.g4+20", "turned.g4-20",
    }  # fmt: skip
    before = loaded.project.model_dump()
    for way in found.values():
        after = way.project.model_dump()
        tables = [name for name in before if before[name] != after[name]]
        assert tables in (["holes"], ["hand"], ["bore"], ["holes", "keywork"]), way.name
        if "holes" in tables:
            lines = [old["id"] for old, new in zip(before["holes"], after["holes"], strict=True) if old != new]
            assert lines == [way.name.split(".")[1][:2]]
    assert found["bore.narrower"].project.bore.diameter_scale == (0.95, 0.95)
    # 20 mm more at both ends: [120, 200] and [150, 220].
    assert found["wider.g4"].project.holes[3].position_mm == (100, 220)
    assert found["wider.g3"].project.holes[2].position_mm == (130, 240)
    assert found["key.g3"].offset_mm == {"g1": 15.0, "g2": 15.0, "g4": 15.0}


def test_every_kind_of_way_out_can_be_asked_for_by_itself():
    cone = pipe(CONE).project
    ways = reliefs_of(["reach.L1-L2", "seal.g1"], pipe(TIGHT).project)
    ways += reliefs_of(["reach.R1-R2", "touch_reach.side-L3"], cone)
    assert {way.name.split(".")[0] for way in ways} | {"crook"} == set(KINDS)


def test_each_limit_that_binds_gets_its_share_of_little_time():
    # Two limits, each with a plate first; then the whole instrument; the hand's maximum, not advised, last.
    names = [way.name for way in reliefs_of(["reach.L1-L2", "seal.g1"], pipe(TIGHT).project)]
    assert names[:3] == ["plate.g3", "plate.g1", "bore.narrower"]
    assert names[-1] == "maximum.L1-L2"
    assert len(set(names)) == len(names)


def test_the_maximum_of_one_pair_leaves_the_others():
    # Without a third figure the maximum is the working limit over 0.8: 17.5 / 0.8 = 21.875.
    loaded = pipe(TIGHT)
    (way,) = (way for way in reliefs_of(["reach.L1-L2"], loaded.project) if way.name == "maximum.L1-L2")
    old, new = (pair_limits(project.hand, "L") for project in (loaded.project, way.project))
    assert new["index_middle"][:3] == pytest.approx((14.0, 21.875, 21.875))
    for name in set(old) - {"index_middle"}:
        assert new[name][:3] == pytest.approx(old[name][:3]), name


def test_a_plate_relieves_a_reach_that_binds(tight):
    # The touch of a plate lies up to 15 mm from its hole, so that the holes may lie 32 mm apart in place of 17.5.
    record, progress = tight
    assert "reach.L1-L2" in record.hand_limits or "reach.L2-L3" in record.hand_limits
    assert {entry.name.split(".")[0] for entry in record.reliefs} == {"plate"}
    assert min(entry.cost_cents for entry in record.reliefs) < -1.0
    assert all(entry.tried for entry in record.reliefs)
    assert progress == [(done, len(record.reliefs) + 1) for done in range(1, len(record.reliefs) + 2)]


def test_reliefs_are_sorted_by_cost(tight):
    record, _ = tight
    costs = [entry.cost_cents for entry in record.reliefs if entry.feasible]
    assert costs == sorted(costs)


def test_a_cost_is_that_of_a_full_solve(tight):
    # The cheapest feasible relief, solved anew as a project of its own, from many more starts than it had.
    record, _ = tight
    cheapest = next(entry for entry in record.reliefs if entry.feasible)
    loaded = pipe(TIGHT)
    (way,) = (way for way in reliefs_of(record.hand_limits, loaded.project) if way.name == cheapest.name)
    fitting = Fitting(dataclasses.replace(loaded, project=way.project), way.offset_mm)
    anew = fitting.judged([fitting.solve(number) for number in range(4 * STARTS)], "anew")
    assert anew.feasible
    fresh = anew.objectives["tuning"] - record.as_it_is.objectives["tuning"]
    assert cheapest.cost_cents == pytest.approx(fresh, abs=0.1)


def test_touches_of_other_holes_stay_near():
    # A key on g3 may carry its touch 60 mm away; a plate on g4 stays within the project's 15 mm.
    loaded = pipe(changed('by = "L1",', 'by = "L1", cover = "plate",', TIGHT))
    (way,) = (way for way in reliefs_of(["reach.L1-L2"], loaded.project) if way.name == "key.g3")
    coding = Fitting(dataclasses.replace(loaded, project=way.project), way.offset_mm).problem.parametrisation
    span = dict(zip(coding.names, zip(5 * coding.low, 5 * coding.high, strict=True), strict=True))
    assert span["touch_offset_mm.g3"] == pytest.approx((-60.0, 60.0))
    assert span["touch_offset_mm.g4"] == pytest.approx((-15.0, 15.0))


def test_the_project_as_it_is_solves_as_before(tight):
    record, _ = tight
    fitting = Fitting(pipe(TIGHT))
    solves = [fitting.solve(number) for number in range(4)]
    best = fitting.judged(solves, "again")
    assert best.objectives["tuning"] >= record.as_it_is.objectives["tuning"] - 0.1
    beside = fitting.beside(saved_numbers(best, fitting.problem.project))
    assert beside.cents == pytest.approx(best.objectives["tuning"], abs=0.1)


def test_hands_side_by_side(tmp_path, capsys):
    # One that reaches everything, and one whose hands cannot come near enough.
    (tmp_path / "pipe.toml").write_text(PIPE)
    (tmp_path / "hands").mkdir()
    far = LARGE.replace('"large"', '"far apart"') + "hand_gap_min_mm = 180\n"
    for name, text in {"a-large": LARGE, "b-far": far}.items():
        (tmp_path / "hands" / f"{name}.toml").write_text(text)
    arguments = ("--minutes", 0.03, "--workers", 1, "--out", tmp_path / "out")
    code, out, err = told(capsys, "hands", tmp_path / "pipe.toml", *arguments)
    large, far = read_record(valid(tmp_path / "out" / "hands.json", "hands"), HandsRecord).hands
    assert [large.hand, far.hand] == ["large", "far apart"]
    assert (code, far.feasible) == (1, False)
    assert "hand_gap.L3-R1" in " ".join(far.problems)
    for fit in (large.best, large.fewest_plates):
        assert valid(tmp_path / "out" / fit.file, "layout").exists()
    assert len(large.fewest_plates.plates) <= len(large.best.plates)
    assert "2 of 2 hands" in err
    assert "large" in out


def test_relieve_writes_its_table(tmp_path, capsys):
    path = tmp_path / "tight.toml"
    path.write_text(TIGHT)
    out = tmp_path / "ways.json"
    code, shown, err = told(capsys, "relieve", path, "--minutes", 0.001, "--workers", 1, "--out", out)
    record = read_record(valid(out, "reliefs"), ReliefsRecord)
    assert out.stat().st_mode & 0o077 == 0, "a hand's limits are in it"
    # With time for hardly more than the project as it is, every way out is named and none is guessed.
    assert code == (0 if record.as_it_is.feasible else 1)
    untried = [entry for entry in record.reliefs if not entry.tried]
    assert untried
    assert all(entry.cost_cents is None and entry.fit is None for entry in untried)
    assert f"{len(untried)} of {len(record.reliefs)} ways not tried for want of time" in shown
    assert all(entry.name in shown for entry in untried)
    assert "to go" in err


BROKEN = {
    "minutes": (["--minutes", "0"], "--minutes must be more than 0 and at most 10000, but got 0"),
    "workers": (["--workers", "0"], "--workers must be between 1 and 1000, but got 0"),
}


@pytest.mark.parametrize("command", ["hands", "relieve"])
@pytest.mark.parametrize("name", BROKEN)
def test_options_to_mend(command, name, tmp_path, capsys):
    options, sentence = BROKEN[name]
    code, _, err = told(capsys, command, tmp_path / "none.toml", *options)
    assert code == 2
    assert sentence in err


def test_files_to_mend(tmp_path, capsys):
    (tmp_path / "pipe.toml").write_text(PIPE)
    code, _, err = told(capsys, "hands", tmp_path / "pipe.toml")
    assert (code, f"there is no hand file in {tmp_path / 'hands'}; name some with --hand" in err) == (2, True)
    code, _, err = told(capsys, "hands", tmp_path / "pipe.toml", "--hand", tmp_path / "nobody.toml")
    assert (code, f"there is no hand file {tmp_path / 'nobody.toml'}" in err) == (2, True)
    code, _, err = told(capsys, "relieve", tmp_path)
    assert (code, f"there is no file {tmp_path / 'run.json'}" in err) == (2, True)
    code, _, err = told(capsys, "relieve", tmp_path / "nothing.toml")
    assert (code, "there is no file" in err) == (2, True)
