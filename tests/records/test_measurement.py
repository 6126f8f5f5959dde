"""Files of measurements: what they hold, and which layout they are of."""

import json

import jsonschema
import pytest
from made_records import fields, hole, layout, note

from optimizer.records.files import read_record, write_record
from optimizer.records.kinds import schema_text
from optimizer.records.measurement import CommonDeviations, MeasuredNote, MeasurementRecord, Unassigned, layout_mark

TUNED = {"register_number": 1}


def measured(**changes):
    """Two notes of the practice pipe as played, and one that was not its."""
    values = fields(
        instrument="Lantern Hall Practice Pipe", source="tuner table notes.csv", layout="t00001",
        layout_mark=layout_mark(layout()), a4_hz=442.0, temperament="equal", temperature_degC=22.5,
        common=CommonDeviations(temperature_K=1.0, a4_cents=0.5),
        notes=[
            MeasuredNote(**TUNED, line=0, written="A4", fingering="L12", cents=6.0, sd_cents=1.5, takes=[5, 7]),
            MeasuredNote(**TUNED, line=1, written="B4", fingering="L1", cents=-40.0, sd_cents=4.0, takes=[-40],
                         vibrato_cents=12.0, slope_cents_per_s=-1.0, flags=["cracked"]),
        ],
        unassigned=[Unassigned(at_s=12.5, hz=523.3, why="no note of the chart lies near")],
    )  # fmt: skip
    return MeasurementRecord.model_validate(values | changes)


def test_a_measurement_reads_back_and_fits_its_schema(tmp_path):
    path = tmp_path / "measured.json"
    write_record(path, measured())
    assert read_record(path, MeasurementRecord) == measured()
    jsonschema.Draft202012Validator(json.loads(schema_text("measurement"))).validate(json.loads(path.read_text()))


def test_a_cracked_note_is_not_fit_and_an_unsteady_one_is():
    steady, cracked = measured().notes
    assert steady.fit
    assert not cracked.fit
    assert cracked.model_copy(update={"flags": ["unsteady"]}).fit


@pytest.mark.parametrize(
    "changes",
    [
        {"holes": [hole("g1", 221.0), hole("g2", 200.0)]},
        {"holes": [hole("g1", 220.0, 6.1), hole("g2", 200.0)]},
        {"notes": [note("A4", 1.0), note("B4", -2.0)]},
    ],
    ids=["place", "width", "fingering"],
)
def test_another_layout_has_another_mark(changes):
    assert layout_mark(layout(**changes)) != layout_mark(layout())


def test_what_is_said_of_a_layout_leaves_its_mark():
    assert layout_mark(layout(name="t00002", warnings=["mind the bell"])) == layout_mark(layout())
