"""Tuner tables: what is read of them, and a sentence for each way in which one may be wrong."""

import numpy as np
import pytest
from places import CONFIGS

from optimizer.project.faults import Fault
from optimizer.prototype.bench_sheet import anchor_of, bench_csv, bench_order
from optimizer.prototype.takes import ROUNDED_CENTS, readings_of
from optimizer.prototype.tuner_table import Tuner, read_tuner_table
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord

HEAD = "# a4_hz = 440\n# temperament = equal\n"
WHOLE = f"{HEAD}note,register,pass_1_cents,pass_2_cents\nA4,1,3,5\nB4,1,-2,0\nC#5,1,7,\n"


@pytest.fixture
def reader(tmp_path, record):
    def read(text, name="notes.csv", **told):
        path = tmp_path / name
        if text is not None:
            path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read_tuner_table(path, record, Tuner(**told))

    return read


def test_a_table_is_read_with_its_passes(reader, record):
    found = reader(WHOLE)
    assert [(note.written, note.line, note.takes) for note in found.notes] == [
        ("A4", 0, pytest.approx([3.0, 5.0])), ("B4", 1, pytest.approx([-2.0, 0.0])), ("C#5", 2, pytest.approx([7.0])),
    ]  # fmt: skip
    assert [note.cents for note in found.notes] == pytest.approx([4.0, -1.0, 7.0])
    assert (found.a4_hz, found.temperament, found.layout, found.temperature_degC) == (440.0, "equal", record.id, None)
    assert found.notes[2].sd_cents == pytest.approx(found.notes[0].sd_cents * 2**0.5)


@pytest.mark.parametrize(
    "text",
    [
        f"{HEAD}note,reading_cents\nA4,3\nB4,-2\nA4,5\nB4,0\nC#5,7\n",
        f"\ufeff{HEAD}note;pass_1_cents;pass_2_cents\r\nA4;3,0;5,0\r\nB4;-2;0\r\nC#5;7;\r\n",
        f"{HEAD}Note\tPass 1 cents\tPass 2 cents\nA4\t3\t5\nB4\t-2\t0\nC#5\t7\t\nD5\t\t\n",
    ],
    ids=["rows", "semicolons and decimal commas", "tabs and a note not played"],
)
def test_other_ways_to_write_the_same(reader, text):
    assert [note.cents for note in reader(text).notes] == pytest.approx([4.0, -1.0, 7.0])


def test_the_same_as_toml(reader):
    text = (
        'a4_hz = 440\ntemperament = "equal"\n[notes]\nA4 = { pass_1_cents = 3, pass_2_cents = 5 }\n'
        'B4 = { pass_1_cents = -2, pass_2_cents = 0 }\n"C#5" = { pass_1_cents = 7 }\n'
    )
    assert [note.cents for note in reader(text, "notes.toml").notes] == pytest.approx([4.0, -1.0, 7.0])


def test_what_is_told_beside_the_table_counts(reader):
    found = reader(WHOLE.replace("# temperament = equal\n", ""), a4_hz=442.0, temperament="equal", bell_degC=19.5)
    assert (found.a4_hz, found.temperature_degC, found.common.temperature_K) == (442.0, 19.5, 1.0)
    assert found.notes[0].cents == pytest.approx(4.0)  # against the project's scale at that A4


def test_another_temperament_is_counted_from(reader):
    # Vallotti 1779: A-E and E-B are narrow by a sixth of the Pythagorean comma (23.46 cents), A-E-B two fifths less an
    # octave: 2 (701.955 - 3.91) - 1200 = 196.09 cents, 3.91 under the equal whole tone.
    found = reader(WHOLE.replace("equal", "vallotti"))
    assert found.notes[1].cents == pytest.approx(-1.0 - 3.91, abs=0.01)
    assert found.notes[0].cents == pytest.approx(4.0)  # A4 is where it is pinned


WRONG = {
    "there is no file": (None, "there is no tuner table"),
    "empty": ("", "is empty; a tuner table begins with its headers: note"),
    "remarks alone": (HEAD, "is empty; a tuner table begins"),
    "headers alone": (f"{HEAD}note,pass_1_cents\n", "has headers and no row under them"),
    "no headers": (f"{HEAD}A4,3\nB4,-2\n", "there is no column 'A4'"),
    "no reading": (f"{HEAD}note,pass_1_cents\nA4,\nB4,\n", "has no reading in it"),
    "no note": (f"{HEAD}note,pass_1_cents\n,3\n", "column note: is empty"),
    "unknown note": (f"{HEAD}note,pass_1_cents\nH4,3\n", "there is no note 'H4' in the chart; did you mean 'B4'"),
    "small letter": (f"{HEAD}note,pass_1_cents\na4,3\n", "there is no note 'a4'; did you mean 'A4'"),
    "far note": (f"{HEAD}note,pass_1_cents\nBes-2,3\n", "'Bes-2' in the chart; the chart goes from A4"),
    "two octaves off": (f"{HEAD}note,pass_1_cents\nA4,-2396\n", "at most 120 cents, but got -2396, 2 octaves off"),
    "hertz": (f"{HEAD}note,pass_1_cents\nA4,441.5\n", "at most 120 cents, but got 441.5"),
    "frequencies": (f"{HEAD}note,pass_1_hz\nA4,441.5\n", "'pass_1_hz' is in hz; this table takes pass_1_cents"),
    "decimal commas": (f"{HEAD}note,pass_1_cents\nA4,3,5\n", "a decimal comma? write 12.5, or part the cells"),
    "a word": (f"{HEAD}note,pass_1_cents\nA4,sharp\n", "must be a number, but got 'sharp'"),
    "endless": (f"{HEAD}note,pass_1_cents\nA4,inf\n", "line 4, column pass_1_cents"),
    "no A4": ("# temperament = equal\nnote,pass_1_cents\nA4,3\n", "does not say at what A4 the tuner stood"),
    "no temperament": ("# a4_hz = 440\nnote,pass_1_cents\nA4,3\n", "does not say the tuner's temperament"),
    "odd temperament": (WHOLE.replace("equal", "valotti"), "but got 'valotti'; did you mean 'vallotti'"),
    "A4 of another octave": (WHOLE.replace("440", "880"), "a4_hz must lie between 380 and 480 Hz, but got 880"),
    "A4 in words": (WHOLE.replace("440", "forty"), "a4_hz must be a number, but got 'forty'"),
    "register": (f"{HEAD}note,register,pass_1_cents\nA4,2,3\n", "A4 is no fingering of the chart: the chart has"),
    "fingering": (f"{HEAD}note,fingering,pass_1_cents\nA4,L1,3\n", "is no fingering of the chart"),
    "UTF-16": (WHOLE.encode("utf-16"), "is text in UTF-16; save it as UTF-8"),
    "a picture": (b"\x89PNG\r\n\x1a\n\0\0\0", "is not a text file"),
    "too long": (HEAD + "note,pass_1_cents\n" + "A4,3\n" * 700, "has 700 rows; a tuner table has at most 600"),
    "too large": (b"#" * 1_100_000, "has more than 1 MB"),
    "twice the same pass": (f"{HEAD}note,pass_1_cents,pass_1_cents\nA4,3,4\n", "pass_1_cents stands more than once"),
}  # fmt: skip


@pytest.mark.parametrize(("text", "said"), WRONG.values(), ids=WRONG)
def test_a_wrong_table_gets_a_sentence(text, said, reader):
    with pytest.raises(Fault) as caught:
        reader(text)
    assert said in str(caught.value)
    assert len(str(caught.value)) < 600
    assert caught.value.heading


def test_several_wrong_rows_are_told_at_once(reader):
    with pytest.raises(Fault) as caught:
        reader(f"{HEAD}note,pass_1_cents\nX4,3\nA4,900\nY4,1\n")
    assert len(caught.value.problems) == 3


def test_a_note_with_two_fingerings_asks_which(reader, record, tmp_path):
    twice = record.model_copy(update={"notes": [*record.notes, record.notes[0].model_copy(update={"alternate": True})]})
    path = tmp_path / "two.csv"
    path.write_text(WHOLE.replace("register,", "").replace(",1,", ","))
    with pytest.raises(Fault, match="A4 may be any of several fingerings: the chart has register 1"):
        read_tuner_table(path, twice)


def test_a_name_that_the_instrument_sounds_is_told_by_what_is_written(record, tmp_path):
    notes = [note.model_copy(update={"sounding": "Q1"}) if note.written == "B4" else note for note in record.notes]
    path = tmp_path / "sounds.csv"
    path.write_text(f"{HEAD}note,pass_1_cents\nQ1,3\n")
    with pytest.raises(Fault, match="Q1 is not in the chart, but what its B4 sounds"):
        read_tuner_table(path, record.model_copy(update={"notes": notes}))


def test_another_a4_is_suspected_and_nothing_is_changed(reader, record):
    # A tuner at 432 Hz shows an instrument in tune at 440 Hz 1200 log2(440 / 432) = 31.8 cents sharp.
    rows = "".join(f"{note.written},{note.cents + 31.8:.0f}\n" for note in record.notes)
    found = reader(f"{HEAD}note,pass_1_cents\n{rows}")
    assert any("A4 = 432 Hz and not at 440" in remark for remark in found.remarks)
    assert found.notes[0].cents == pytest.approx(record.notes[0].cents + 31.8, abs=0.51)
    plain = "".join(f"{note.written},{note.cents:.0f}\n" for note in record.notes)
    assert not any("A4" in remark for remark in reader(f"{HEAD}note,pass_1_cents\n{plain}").remarks)


def test_the_table_of_another_instrument_is_asked_about_before_its_rows(reader):
    with pytest.raises(Fault) as caught:
        reader(f"{HEAD}note,pass_1_cents\nA4,3\nF#3,2\nG3,1\nE3,0\n")
    first, *rows = caught.value.problems
    assert "3 of its 4 rows are of notes that Lantern Hall Practice Pipe does not have" in first
    assert first.endswith("is it the table of another instrument?")
    assert len(rows) == 3


def test_a_table_that_names_another_instrument_is_asked_about(reader):
    first, *rest = reader(f"# instrument = Attic Reed\n{WHOLE}").remarks
    assert first.startswith("the table says that it is of Attic Reed, and this is a layout of Lantern Hall")
    assert reader(f"# instrument = Lantern Hall Practice Pipe\n{WHOLE}").remarks == rest == reader(WHOLE).remarks


@pytest.mark.parametrize("name", [" Attic Reed", "Attic\nReed", 'Attic = "Reed", low'])
def test_the_table_to_fill_in_is_known_again_whatever_its_instrument_is_called(name, tmp_path, record):
    named = record.model_copy(update={"instrument": name})
    rows = bench_csv(named, record.notes, 1).splitlines()
    path = tmp_path / "notes.csv"
    path.write_text("\n".join(row if row[0] == "#" or row.startswith("note,") else f"{row}3" for row in rows) + "\n")
    assert not any("right table" in remark for remark in read_tuner_table(path, named, Tuner()).remarks)


def test_notes_more_than_a_semitone_off_are_asked_about_and_nothing_is_changed(reader, record):
    off = [1.0, 0.0, 101.0, 0.0, -1.0]
    rows = [f"{note.written},{note.cents + more:.1f}\n" for note, more in zip(record.notes, off, strict=True)]
    found = reader(f"{HEAD}note,pass_1_cents\n{''.join(rows)}")
    assert found.remarks[-1].startswith("C#5 lies more than a semitone off the layout")
    assert found.notes[2].cents == pytest.approx(record.notes[2].cents + 101.0, abs=0.06)
    near = "".join(rows).replace(rows[2], f"C#5,{record.notes[2].cents + 99.0:.1f}\n")
    assert not any("semitone" in remark for remark in reader(f"{HEAD}note,pass_1_cents\n{near}").remarks)


def test_rounding_is_that_of_the_handbook():
    # JCGM 100:2008 (GUM), F.2.2.1: a digital reading of step d has the deviation 0.29 d.
    assert pytest.approx(0.29, abs=0.002) == ROUNDED_CENTS


def test_takes_that_agree_are_surer_than_takes_that_do_not():
    close, wide = readings_of([[1.0, 1.0, 1.0]] * 10), readings_of([[-9.0, 1.0, 11.0]] * 10)
    assert close.sd[0] < 1.5 < wide.sd[0]
    assert wide.mean == pytest.approx(np.ones(10))
    assert "for granted" in readings_of([[2.0], [3.0]]).remarks[0]


def drifting(record, course, passes=3):
    """Rows of a table to fill in, filled in by a player whose instrument drifts."""
    order = bench_order(record, 1)
    rows = bench_csv(record, order, passes).splitlines()
    head, body = rows[: -len(order)], rows[-len(order) :]
    scatter = np.random.default_rng(4).normal(0.0, 1.5, (len(order), passes))
    filled = []
    for number, row in enumerate(body):
        cents = [record.notes.index(order[number]) + course(at, number) + scatter[number, at] for at in range(passes)]
        filled.append(row.removesuffix("," * passes) + "," + ",".join(f"{value:.0f}" for value in cents))
    return "\n".join([*head, *filled, ""])


def test_a_drift_that_anchors_show_is_taken_out(record, tmp_path):
    # Planted: 12 cents over each pass of the tenor, 6 in its middle; a warm-up by 15, e times less every 12 rows; none.
    # Of the practice pipe, whose four rows a pass show no such course, nothing is taken out.
    whole = read_record(CONFIGS / "prototypes" / "lantern-tenor.json", LayoutRecord)
    rows = len(bench_order(whole, 1))
    for layout, course, said, left in (
        (whole, lambda at, row: 12.0 * row / (rows - 1), "drifts by +1", 6.0),
        (whole, lambda at, row: -15.0 * np.exp(-row / 12.0) * (at == 0), "warms by +1", 0.0),
        (whole, lambda at, row: 0.0, "takes of a note scatter", 0.0),
        (record, lambda at, row: -15.0 * np.exp(-row / 4.0) * (at == 0), "takes of a note scatter", -2.5),
    ):
        (tmp_path / "notes.csv").write_text(drifting(layout, course))
        found = read_tuner_table(tmp_path / "notes.csv", layout)
        assert said in found.remarks[0]
        off = np.array([note.cents - note.line for note in found.notes])
        assert np.sqrt(np.mean((off - left) ** 2)) < 2.0, said


def test_rows_by_note_are_no_drift(record, reader):
    # Each note three times on end, later ones higher: that is the chart, and no note comes again after others.
    rows = "".join(f"{note.written},{note.register_number},{2 * line + n}\n" for line, note in enumerate(record.notes)
                   for n in range(3))  # fmt: skip
    found = reader(f"{HEAD}note,register,reading_cents\n{rows}")
    assert [note.cents for note in found.notes] == pytest.approx([2 * note.line + 1.0 for note in found.notes])


def test_the_table_to_take_along_reads_back_once_it_is_filled_in(record, tmp_path):
    order = bench_order(record, 1, ["E5"])
    path = tmp_path / "bench.csv"
    path.write_text(bench_csv(record, order, 2).replace(",,\n", ",2,4\n"))
    found = read_tuner_table(path, record)
    assert [note.written for note in found.notes] == [note.written for note in record.notes]
    assert [note.cents for note in found.notes] == pytest.approx([3.0] * len(found.notes))
    anchor = anchor_of(record.notes)
    assert order[0] is order[-1] is anchor
    assert order[1].written == "E5"
    takes = next(note.takes for note in found.notes if note.written == anchor.written)
    assert len(takes) == 4  # two passes of two rows


def test_the_order_is_the_seeds(record):
    assert bench_order(record, 1) == bench_order(record, 1)
    assert len({tuple(note.written for note in bench_order(record, seed)) for seed in range(8)}) > 1
