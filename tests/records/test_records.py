"""Files of a run folder: schemas, reading, writing whole, and layouts that mean the same when read back."""

import json
from importlib import resources
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from shelf import PIPE, changed, pipe, progress

from optimizer.geometry.layout import Layout, top_diameter_mm
from optimizer.project.model import AirState
from optimizer.project.numbers import Section
from optimizer.records.files import Record, read_record, write_record
from optimizer.records.kinds import RECORDS, schema_text
from optimizer.records.layout import LayoutRecord
from optimizer.records.run import FrontRecord, RunRecord
from optimizer.search.pareto import Front
from optimizer.search.run_folder import create_run
from optimizer.solving.real_resonances import predict, record_duct

SCHEMAS = resources.files("optimizer.records").joinpath("schemas")


def valid(path, kind):
    """Validate a file against its schema with the jsonschema package, formats and all."""
    schema = json.loads(schema_text(kind))
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(json.loads(Path(path).read_text()))


@pytest.mark.parametrize("kind", RECORDS)
def test_the_schema_on_file_is_the_programs(kind):
    on_file = (
        resources.files("optimizer.records")
        .joinpath("schemas")
        .joinpath(f"{kind}.schema.json")
        .read_text(encoding="utf-8")
    )
    assert on_file == schema_text(kind)


class Ring(Record):
    inside_mm: "Width"


class RingTable(Section):
    inside_mm: "Width"


Width = float


@pytest.mark.parametrize("kind", [Ring, RingTable])
def test_a_model_is_built_by_the_names_of_its_own_module_whoever_meets_it_first(kind):
    # Names of whoever meets it end the process on Python 3.13.0, where they are copied within a comprehension.
    def met_where_the_name_means_another(Width=str):
        return kind(inside_mm=14.5)

    assert met_where_the_name_means_another().inside_mm == 14.5


def test_every_record_has_a_schema_on_file():
    names = {
        item.name
        for item in resources.files("optimizer.records").joinpath("schemas").iterdir()
        if item.name.endswith(".json")
    }
    assert names == {f"{kind}.schema.json" for kind in RECORDS}


@pytest.fixture
def run(tmp_path, record):
    """A closed run folder that holds one layout."""
    folder = create_run(tmp_path / "results", pipe(PIPE), seed=7, minutes=1.0, trials=1, workers=1)
    assert folder.keep(record, record.model_dump_json(indent=1))
    folder.close(progress("trials", 1))
    return folder.path


def test_a_run_folder_fits_its_schemas(run, record):
    valid(run / "run.json", "run")
    valid(run / "pareto.json", "front")
    valid(run / "progress.json", "progress")
    valid(run / "layouts" / f"{record.id}.json", "layout")


def test_a_run_folder_reads_back(run, record):
    front = read_record(run / "pareto.json", FrontRecord)
    assert [(entry.id, entry.file) for entry in front.layouts] == [(record.id, f"layouts/{record.id}.json")]
    assert front.feasible
    assert read_record(run / front.layouts[0].file, LayoutRecord) == record
    told = read_record(run / "run.json", RunRecord)
    assert (told.seed, told.trials_done, told.ended_by, told.project_text) == (7, 1, "trials", PIPE)


def test_a_run_can_be_run_again_from_its_own_record(run):
    again = pipe(read_record(run / "run.json", RunRecord).project_text)
    assert again.project == pipe(PIPE).project


def test_two_runs_in_one_second_get_two_folders(tmp_path):
    paths = {create_run(tmp_path, pipe(PIPE), 1, 1.0, None, 1).path for _ in range(3)}
    assert len(paths) == 3


@pytest.mark.parametrize("kind", ["layout", "front", "run"])
def test_a_later_minor_version_with_a_new_key_is_read(kind, run, record):
    # Semantic versioning 2.0.0, item 7: a minor version adds, and what was there still means the same.
    path = run / {"layout": f"layouts/{record.id}.json", "front": "pareto.json", "run": "run.json"}[kind]
    data = json.loads(path.read_text())
    before = read_record(path, RECORDS[kind])
    path.write_text(json.dumps(data | {"colour": "red", "schema_version": "2.9.0"}))
    valid(path, kind)
    assert read_record(path, RECORDS[kind]) == before.model_copy(update={"schema_version": "2.9.0"})


def test_a_layout_read_back_sounds_the_same(tmp_path, record):
    path = tmp_path / "layout.json"
    write_record(path, record)
    again = read_record(path, LayoutRecord)
    heard = predict(again)
    assert [note.written for note in heard] == ["A4", "B4", "C#5", "D5", "E5"]
    for before, after in zip(record.notes, heard, strict=True):
        assert after.status == before.status
        assert after.cents == pytest.approx(before.cents, abs=0.01)
        assert after.frequency_hz == pytest.approx(before.frequency_hz, rel=1e-6)


def test_cents_are_those_of_frequency_over_target(record):
    # 1200 log2 of the ratio, the definition of the cent.
    for note in record.notes:
        assert note.cents == pytest.approx(1200 * np.log2(note.frequency_hz / note.target_hz), abs=1e-9)


def test_figures_are_those_of_the_notes(record):
    # All weights are 1: root mean square and greatest absolute error.
    cents = np.array([note.cents for note in record.notes])
    assert record.objectives["tuning"] == pytest.approx(np.sqrt(np.mean(cents**2)), rel=1e-9)
    assert record.objectives["worst_note"] == pytest.approx(np.max(np.abs(cents)), rel=1e-9)


def test_reach_is_that_of_the_holes(record):
    # All holes in line on a cone whose radius grows (21 - 4) / 2 = 8.5 mm over 330: spacings are differences of
    # positions along its side, the root of 1 + (8.5 / 330)^2 = 1.0003317 times those along the axis.
    # g1 R1, g2 L3, g3 L2, g4 L1.
    where = {hole.id: 1.0003317 * hole.position_mm for hole in record.holes}
    expected = {
        "L1-L2": where["g3"] - where["g4"], "L2-L3": where["g2"] - where["g3"], "L1-L3": where["g2"] - where["g4"]
    }  # fmt: skip
    assert {pair.pair: pair.spacing_mm for pair in record.reach} == pytest.approx(expected, abs=0.006)
    strain = [
        max(pair.spacing_mm - pair.comfortable_mm, 0) / (pair.working_mm - pair.comfortable_mm) for pair in record.reach
    ]
    assert record.objectives["stretch"] == pytest.approx(100 * np.sqrt(np.mean(np.square(strain))), abs=0.1)


def test_the_bore_ends_on_its_own_line(record):
    # 4 mm to 21 mm over 330 mm: diameter 4 + 17 s / 330.
    (s0, d0), (s1, d1) = record.bore.points_mm
    assert (s0, d0) == (0.0, 4.0)
    assert d1 == pytest.approx(4 + 17 * s1 / 330, abs=1e-9)
    for hole in record.holes:
        assert hole.bore_diameter_mm == pytest.approx(4 + 17 * hole.position_mm / 330, abs=6e-4)


def test_a_record_carries_cautions_and_provenance(record):
    assert any("pain" in caution for caution in record.cautions)
    assert record.provenance["seed"] == 7


def test_warm_air_sharpens_as_the_speed_of_sound_does(record):
    # c grows as the root of absolute temperature: one degree more at the mean 23 degC is 600 log2(297.15 / 296.15)
    # = 2.92 cents (published slope 2.945 cents per kelvin at 20 degC). Wall losses lower a resonance by about
    # 1.044 / (sqrt 2 r_v), r_v = r sqrt(2 pi f rho / eta): at 440 Hz and r = 4 mm r_v = 54, so 1.4 % or 24 cents; that
    # grows as the root of eta / rho, 0.3 % per kelvin, and takes 0.07 cents back. Together 2.85.
    air = record.reference.air
    warmer = AirState(**(air.model_dump() | {"reed_degC": air.reed_degC + 1, "bell_degC": air.bell_degC + 1}))
    for cold, warm in zip(predict(record), predict(record, warmer), strict=True):
        assert warm.cents - cold.cents == pytest.approx(2.85, abs=0.05)


def test_a_higher_reference_leaves_the_pipe_flat(record):
    # 1200 log2(440 / 442) = -7.85 cents.
    for low, high in zip(predict(record), predict(record, pitch_ratio=442 / 440), strict=True):
        assert high.cents - low.cents == pytest.approx(-7.851, abs=0.01)
        assert high.frequency_hz == pytest.approx(low.frequency_hz, rel=1e-9)


def test_a_target_with_no_resonance_near_is_silent(record):
    # Half an octave off every target: nothing within 150 cents of any.
    heard = predict(record, pitch_ratio=2**0.5)
    assert [note.status for note in heard] == ["silent"] * 5
    assert all(note.cents is None and note.frequency_hz is None for note in heard)


def test_a_note_an_octave_up_is_another_register(record):
    # A cone overblows the octave, so near twice the target lies the second resonance, not the first.
    heard = predict(record, pitch_ratio=2.0)
    found = [(note.status, note.resonance_number) for note in heard if note.status != "silent"]
    assert found
    assert set(found) == {("other register", 2)}


def test_a_note_below_a_taller_resonance_is_weak_when_the_project_minds(record):
    # The same second resonances, wanted as such: nothing reaches a million times the height of the one below.
    notes = [note.model_copy(update={"register_number": 2}) for note in record.notes]

    def status(ratio):
        judged = record.reference.model_copy(update={"register_ratio_min": ratio})
        heard = predict(record.model_copy(update={"notes": notes, "reference": judged}), pitch_ratio=2.0)
        return {note.status for note in heard if note.status != "silent"}

    assert status(0.0) == {"ok"}
    assert status(1e6) == {"weak"}


def test_a_top_ratio_narrows_the_top_of_the_hole(record):
    # Ratio times diameter in the layout, and the same radius in the duct of a record that says so.
    undercut = pipe(changed("chimney_mm = 4 }\ng2", "chimney_mm = 4, top_ratio = 0.8 }\ng2")).project
    straight = pipe(PIPE).project
    layout = Layout(*([7.0, 6.0, 5.0, 8.0] for _ in range(4)), end_mm=330.0, reed_volume_cm3=0.3)
    layout = layout._replace(diameter_mm=np.array(layout.diameter_mm))
    assert np.asarray(top_diameter_mm(layout, straight)) == pytest.approx([7.0, 6.0, 5.0, 8.0])
    assert np.asarray(top_diameter_mm(layout, undercut)) == pytest.approx([5.6, 6.0, 5.0, 8.0])
    first = record.holes[0].model_copy(update={"top_diameter_mm": 0.8 * record.holes[0].diameter_mm})
    duct = record_duct(record.model_copy(update={"holes": [first, *record.holes[1:]]}))
    ratio = np.asarray(duct.holes.top_radius / duct.holes.radius)
    assert ratio == pytest.approx([0.8, 1.0, 1.0, 1.0])


def test_the_duct_of_a_record_has_its_sizes(record):
    duct = record_duct(record)
    assert np.asarray(duct.holes.radius) * 2e3 == pytest.approx([hole.diameter_mm for hole in record.holes])
    assert float(duct.end_position) * 1e3 == pytest.approx(record.bore.points_mm[-1][0])


# A run folder keeps what the front keeps.


def offer(folder, record, name, feasible=True, violation=0.0, **objectives):
    changes = {"id": name, "objectives": record.objectives | objectives, "feasible": feasible}
    other = record.model_copy(update=changes | {"margins_mm": {"web.g1-g2": -violation}})
    return folder.keep(other, other.model_dump_json())


def files(folder):
    return sorted(path.stem for path in (folder.path / "layouts").glob("*"))


def shown(folder):
    return [entry.id for entry in read_record(folder.path / "pareto.json", FrontRecord).layouts]


def test_a_beaten_layout_leaves_the_folder(tmp_path, record):
    folder = create_run(tmp_path, pipe(PIPE), 1, 1.0, None, 1)
    assert isinstance(folder.front, Front)
    assert offer(folder, record, "a", tuning=5.0, stretch=50.0, unevenness=20.0)
    assert offer(folder, record, "b", tuning=8.0, stretch=10.0, unevenness=20.0)
    assert offer(folder, record, "c", tuning=4.0, stretch=40.0, unevenness=15.0)
    assert not offer(folder, record, "d", tuning=9.0, stretch=90.0, unevenness=90.0)
    assert files(folder) == ["b", "c"]
    assert shown(folder) == ["c", "b"]


def test_while_nothing_fits_the_least_violating_layout_is_kept(tmp_path, record):
    folder = create_run(tmp_path, pipe(PIPE), 1, 1.0, None, 1)
    assert offer(folder, record, "bad", feasible=False, violation=3.0)
    assert not offer(folder, record, "worse", feasible=False, violation=4.0)
    assert offer(folder, record, "better", feasible=False, violation=1.0)
    assert (files(folder), shown(folder)) == (["better"], ["better"])
    assert not read_record(folder.path / "pareto.json", FrontRecord).feasible
    assert offer(folder, record, "good")
    assert (files(folder), shown(folder)) == (["good"], ["good"])
    assert read_record(folder.path / "pareto.json", FrontRecord).feasible
    assert not offer(folder, record, "late", feasible=False, violation=0.5)


def test_a_folder_that_found_nothing_still_says_so(tmp_path):
    folder = create_run(tmp_path, pipe(PIPE), 1, 1.0, None, 1)
    folder.close(progress("time"))
    front = read_record(folder.path / "pareto.json", FrontRecord)
    assert (front.layouts, front.feasible) == ([], False)
