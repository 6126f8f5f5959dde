"""`predict`: a layout in other air, at another pitch, under another hand."""

import json

import jsonschema
import pytest
from commanded import cents, told

from optimizer.records.files import read_record
from optimizer.records.kinds import schema_text
from optimizer.records.prediction import PredictionRecord


def test_predict_as_designed_repeats_the_layout(layout, record, capsys):
    code, out, _ = told(capsys, "predict", layout)
    assert code == 0
    assert cents(out) == {note.written: pytest.approx(note.cents, abs=0.061) for note in record.notes}


def test_predict_one_degree_warmer_is_sharp_by_about_three_cents(layout, capsys):
    # The sound speed's published slope is 2.945 cents per kelvin at 20 degC; some hundredths less here (23 degC, and
    # losses that grow). Two printed roundings of 0.05.
    before = cents(told(capsys, "predict", layout)[1])
    after = cents(told(capsys, "predict", layout, "--reed-degc", 26, "--bell-degc", 22)[1])
    assert list(after) == ["A4", "B4", "C#5", "D5", "E5"]
    for note in after:
        assert after[note] - before[note] == pytest.approx(2.9, abs=0.16)


def test_predict_at_442_hz_is_flat_by_the_interval(layout, capsys):
    # 1200 log2(440 / 442) = -7.851 cents; two printed roundings of 0.05.
    before = cents(told(capsys, "predict", layout)[1])
    after = cents(told(capsys, "predict", layout, "--a4", 442)[1])
    assert list(after) == list(before)
    for note in after:
        assert after[note] - before[note] == pytest.approx(-7.851, abs=0.101)


def test_predict_says_what_it_compares(layout, capsys):
    out = told(capsys, "predict", layout, "--a4", 442, "--bell-degc", 18)[1].replace("\n", " ")
    assert "A4 = 442 Hz, 25 degC at the reed, 18 at the bell" in out
    assert "designed for 440 Hz, 25 and 21 degC" in out


@pytest.mark.parametrize(
    ("option", "value", "sentence"),
    [
        ("--a4", "500", "--a4 must lie between 380 and 480 Hz, but got 500"),
        ("--a4", "0", "--a4 must lie between 380 and 480 Hz, but got 0"),
        ("--a4", "nan", "--a4 must lie between 380 and 480 Hz, but got nan"),
        ("--reed-degc", "45", "--reed-degc must lie between 0 and 40 degC, but got 45"),
        ("--bell-degc", "-3", "--bell-degc must lie between 0 and 40 degC, but got -3"),
        ("--bell-degc", "nan", "--bell-degc must lie between 0 and 40 degC, but got nan"),
    ],
)
def test_predict_refuses_what_it_was_not_made_for(layout, option, value, sentence, capsys):
    code, out, err = told(capsys, "predict", layout, f"{option}={value}")
    assert (code, out) == (2, "")
    assert err == f"options to mend\n  {sentence}\n"


def test_predict_needs_a_layout(run, capsys):
    code, _, err = told(capsys, "predict", run / "run.json")
    assert code == 2
    assert "is not a holewright-layout file" in err


def test_predict_takes_a_run_or_a_layout_of_it_and_writes_what_it_found(run, layout, record, tmp_path, capsys):
    written = []
    for asked in ([layout], [run], [run, "--layout", record.id]):
        place = tmp_path / f"{len(written)}.json"
        code, out, err = told(capsys, "predict", *asked, "--a4", 442, "--json", place)
        assert (code, err) == (0, "")
        assert f"written: {place}" in out
        written.append(read_record(place, PredictionRecord))
    assert written[0] == written[1] == written[2]
    jsonschema.Draft202012Validator(json.loads(schema_text("prediction"))).validate(json.loads(place.read_text()))
    found = written[0]
    assert (found.layout, found.a4_hz, found.air, found.hand) == (record.id, 442.0, record.reference.air, None)
    cents_found = [note.cents for note in found.notes]
    assert (min(cents_found), max(cents_found)) == (found.least_cents, found.most_cents)
    # 1200 log2(440 / 442) = -7.851 cents
    shifts = [after.cents - before.cents for after, before in zip(found.notes, record.notes, strict=True)]
    assert shifts == pytest.approx([-7.851] * len(shifts), abs=0.002)
