"""Files that cannot be used, sent to the bench book: a sentence for each, nothing lost and nothing left behind.

Sound is decoded by libsndfile, in the workshop's process alone.
"""

import io
import json
import sys
from urllib.parse import quote

import numpy as np
import pytest
import soundfile
from made_records import run_folder
from served import served
from shelf import PIPE

from optimizer.service.bench_work import taken_in

RATE = 44_100
NOTES = "# a4_hz = 440\n# temperament = equal\nnote,pass_1_cents\n"
MEGABYTE = 1_000_000


@pytest.fixture(scope="module")
def results(tmp_path_factory, record):
    results = tmp_path_factory.mktemp("hall") / "results"
    run_folder(results / "pipe", [record], project_text=PIPE)
    return results


@pytest.fixture(scope="module")
def client(results):
    with served(results, upload_bytes_most=8 * MEGABYTE) as client:
        yield client


def sound(samples, kind="WAV", rate=RATE, **more):
    file = io.BytesIO()
    soundfile.write(file, samples, rate, format=kind, **more)
    return file.getvalue()


def tone(seconds, hz=440.0, level=0.5):
    return level * np.sin(2 * np.pi * hz * np.arange(int(seconds * RATE)) / RATE)


def flac_of(minutes, channels=1, rate=RATE):
    """Silence, of which a compressed file holds almost nothing."""
    file = io.BytesIO()
    with soundfile.SoundFile(file, "w", rate, channels, format="FLAC") as target:
        for _ in range(minutes):
            target.write(np.zeros((60 * rate, channels), np.int16))
    return file.getvalue()


def wav_that_says(seconds):
    """A head that promises more than the file holds (RIFF, 1991: sizes of 32 bits)."""
    data = bytearray(sound(tone(1.0)))
    place = data.index(b"data") + 4
    data[place : place + 4] = (2 * RATE * seconds).to_bytes(4, "little")
    data[4:8] = (2 * RATE * seconds + 36).to_bytes(4, "little")
    return bytes(data)


BAD = {
    "silence": ("take.wav", lambda: sound(np.zeros(2 * RATE)), "take.wav is silent"),
    "an empty recording": ("take.wav", lambda: b"", "take.wav is empty: the recorder has kept nothing"),
    "an empty table": ("notes.csv", lambda: b"", "notes.csv is empty"),
    "noise named WAV": ("take.wav", lambda: bytes(range(256)) * 40, "take.wav"),
    "half an hour and more": ("take.flac", lambda: flac_of(31, rate=16_000), "lasts 31:00, and at most 30 minutes"),
    "a small file of much silence": ("take.flac", lambda: flac_of(2, channels=2), "take.flac is silent"),
    "clipped": ("take.wav", lambda: sound(np.clip(tone(2.0, level=9.0), -1, 1)), "is clipped"),
    "a telephone": ("take.wav", lambda: sound(tone(2.0), rate=8_000), "8000 samples a second"),
    "unknown notes": ("notes.csv", lambda: f"{NOTES}H9,3\nQ4,1\n".encode(), "there is no note 'H9'"),
    "decimal commas among commas": ("notes.csv", lambda: f"{NOTES}A4,3,5\n".encode(), "notes.csv, line 4"),
    "two octaves off": ("notes.csv", lambda: f"{NOTES}A4,2400\n".encode(), "2 octaves off"),
    "Latin-1": ("notes.csv", lambda: "note,pass_1_cents\nA4 é,1\n".encode("latin-1"), "save the file as UTF-8"),
    "no A4": ("notes.csv", lambda: b"note,pass_1_cents\nA4,1\n", "does not say at what A4"),
    "an impedance without units": ("z.csv", lambda: b"frequency,real,imag\n100,1,1\n", "z.csv"),
    "readings in inches": ("gauges.csv", lambda: b"what,where,reading_in,tool\nhole,g1,0.3,go\n", "reading_in"),
    "a table of holes": ("holes.csv", lambda: b"hole,from_reed_mm\ng1,200\n", "an instrument of its own"),
    "a picture": ("photo.png", lambda: b"\x89PNG\r\n\x1a\n" + bytes(200), "none of what is read here"),
    "a ZIP archive": ("takes.zip", lambda: b"PK\x03\x04" + bytes(200), "none of what is read here"),
}  # fmt: skip


@pytest.mark.parametrize("what", BAD)
def test_a_bad_file_gets_a_sentence_and_leaves_nothing(client, results, record, what):
    name, made, words = BAD[what]
    before = sorted(str(path) for path in (results / "pipe").rglob("*"))
    answer = client.post(f"/runs/pipe/layouts/{record.id}/book?name={quote(name)}", made())
    assert answer.status == 422, answer.text
    said = " ".join([answer.json["detail"], *(each["message"] for each in answer.json["problems"])])
    assert words in said
    assert str(results) not in answer.text
    assert "uploads" not in answer.text
    assert sorted(str(path) for path in (results / "pipe").rglob("*")) == before
    assert list((results / ".service" / "uploads").iterdir()) == []


def test_an_mp3_named_wav_is_read_as_what_it_is(client, record):
    """Many a telephone's recorder names its files so."""
    hz = next(note.target_hz for note in record.notes if note.written == "A4")
    answer = client.post(f"/runs/pipe/layouts/{record.id}/book?name=A4.wav", sound(tone(3.0, hz), "MP3"))
    assert answer.status == 201, answer.text
    told = client.get(f"/runs/pipe/book/{answer.json['id']}/record").json
    assert any("is MP3 by what is in it" in each for each in told["remarks"])
    assert [note["written"] for note in told["notes"]] == ["A4"]


def test_a_head_that_promises_more_than_there_is_costs_nothing(client, results, record):
    answer = client.post(f"/runs/pipe/layouts/{record.id}/book?name=take.wav", wav_that_says(12_000))
    assert answer.status in (201, 422)
    assert list((results / ".service" / "uploads").iterdir()) == []


def test_what_is_too_large_is_refused_before_it_has_come(client, results, record):
    place = f"/runs/pipe/layouts/{record.id}/book?name=take.wav"
    for answer in (
        client.post(place, b"RIFF" + bytes(9 * MEGABYTE)),
        client.post(place, (bytes(MEGABYTE) for _ in range(9))),
    ):
        assert answer.status == 413
        assert answer.json["detail"] == ("a file may have at most 8 MB; cut a recording into takes, or save it as FLAC")
    other = client.post(f"/runs/pipe/layouts/{record.id}/tolerance", b" " * (2 * MEGABYTE))
    assert (other.status, other.json["detail"]) == (413, "a request may hold at most 1000000 bytes")
    assert not (results / ".service" / "uploads").is_dir() or not list((results / ".service" / "uploads").iterdir())


@pytest.mark.parametrize("name", ["../take.wav", "a/b.wav", ".hidden.wav", "x" * 61, "", "a\x00b.wav"])
def test_a_name_that_is_more_than_a_name_is_refused(client, record, name):
    answer = client.post(f"/runs/pipe/layouts/{record.id}/book?name={quote(name)}", b"x")
    assert answer.status == 422
    assert answer.json["problems"][0]["path"] == "query.name"


def test_what_takes_too_long_or_too_much_memory_is_ended_and_leaves_nothing(tmp_path, record):
    results = tmp_path / "results"
    run_folder(results / "pipe", [record], project_text=PIPE)
    take, place = sound(tone(4.0)), f"/runs/pipe/layouts/{record.id}/book?name=take.wav"
    for limits, status, words in (
        ({"work_seconds": 0.01}, 504, "took longer"),
        ({"work_bytes_most": 250 * MEGABYTE}, 413, "more memory than the service gives"),
    ):
        with served(results, apart=True, **limits) as client:
            sent = take if status == 504 else flac_of_tone(10)
            answer = client.post(place, sent)
            assert (answer.status, words in answer.json["detail"]) == (status, True), answer.text
            assert client.get("/runs/pipe/book").json == []
        assert list((results / ".service" / "uploads").iterdir()) == []


def flac_of_tone(minutes):
    """A steady tone that compresses well."""
    one = (8_000 * np.sin(2 * np.pi * 441.0 * np.arange(60 * RATE) / RATE)).astype(np.int16)
    file = io.BytesIO()
    with soundfile.SoundFile(file, "w", RATE, 1, format="FLAC", compression_level=0.0) as target:
        for _ in range(minutes):
            target.write(one)
    return file.getvalue()


def test_what_a_killed_service_left_is_cleared_away(tmp_path, record):
    results = tmp_path / "results"
    run_folder(results / "pipe", [record], project_text=PIPE)
    left = results / ".service" / "uploads" / "tmpabc" / "sent"
    left.mkdir(parents=True)
    (left / "take.wav").write_bytes(b"RIFF")
    with served(results) as client:
        assert client.get("/runs/pipe/book").json == []
        assert not left.exists()


def test_sound_is_decoded_by_the_child_alone(tmp_path, record, monkeypatch):
    """What the service's own process would call is broken; a recording is heard all the same."""

    def broken(*_args, **_more):
        raise AssertionError("decoded in the service's own process")

    hz = next(note.target_hz for note in record.notes if note.written == "A4")
    take = sound(tone(3.0, hz))
    monkeypatch.setattr(soundfile, "SoundFile", broken)
    monkeypatch.setattr(sys.modules[taken_in.__module__], "kind_of", broken)
    run_folder(tmp_path / "results" / "pipe", [record], project_text=PIPE)
    with served(tmp_path / "results", apart=True) as client:
        answer = client.post(f"/runs/pipe/layouts/{record.id}/book?name=A4.wav", take)
    assert answer.status == 201, json.dumps(answer.json)
