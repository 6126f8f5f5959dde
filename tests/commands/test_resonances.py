"""`resonances`: every resonance of a layout's fingerings, to 4 kHz."""

import re

import pytest
from commanded import told


def test_resonances_lists_them_to_4_khz(layout, record, capsys):
    code, out, err = told(capsys, "resonances", layout)
    assert (code, err) == (0, "")
    rows = re.findall(r"(?m)^([A-G][#b]?\d)? *(\d+)( \*)? +(\d+\.\d\d) +(\d\.\d{3}) +(\d+) +([+-]\d+)", out)
    heads = [index for index, row in enumerate(rows) if row[0]]
    assert [rows[index][0] for index in heads] == [note.written for note in record.notes]
    assert "\n  *: the resonance that the note is to sound on\n" in out
    for note, first, last in zip(record.notes, heads, [*heads[1:], len(rows)], strict=True):
        found = [float(row[3]) for row in rows[first:last]]
        assert found == sorted(found)
        # A cone of 330 mm has a resonance each 343 / 0.66 = 520 Hz.
        assert 3400.0 < found[-1] < 4000.0
        assert len(found) >= 5
        (marked,) = [row for row in rows[first:last] if row[2]]
        assert int(marked[1]) == note.register_number
        assert float(marked[3]) == pytest.approx(note.frequency_hz, abs=0.006)
        assert int(marked[6]) == pytest.approx(note.cents, abs=0.51)


def test_resonances_of_one_note_are_its_own(layout, capsys):
    out = told(capsys, "resonances", layout, "--note", "B4")[1]
    assert re.findall(r"(?m)^([A-G][#b]?\d) ", out) == ["B4"]


def test_resonances_of_no_such_note_are_refused(layout, capsys):
    code, out, err = told(capsys, "resonances", layout, "--note", "A0")
    assert (code, out) == (2, "")
    assert err == "cannot show resonances\n  the layout has no note 'A0'; it has A4, B4, C#5, D5, E5\n"


def test_resonances_need_a_layout(run, capsys):
    code, _, err = told(capsys, "resonances", run / "run.json")
    assert code == 2
    assert "is not a holewright-layout file" in err
