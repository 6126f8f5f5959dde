"""The bench book over the API: a practice pipe measured, fitted and corrected, as the program itself finds it.

Checked against: the pitch that was played, and what the rooms below answer to the same files.
"""

import json
from concurrent.futures import ThreadPoolExecutor
from urllib.parse import urlencode

import numpy as np
import pytest
from commanded import told
from made_records import run_folder
from served import served
from shelf import PIPE
from takes import Prototype, kept

from optimizer.hearing.session import measured
from optimizer.prototype.calibration import calibrated
from optimizer.prototype.changes import Change, as_corrected
from optimizer.prototype.tuner_table import read_tuner_table
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord


class Shelf:
    """One run of the practice pipe on a service, and what is sent to its book."""

    def __init__(self, client, results, record):
        self.client, self.folder, self.record = client, results / "pipe", record
        self.layout = f"/runs/pipe/layouts/{record.id}"

    def send(self, name, data, **more):
        return self.client.post(f"{self.layout}/book?{urlencode({'name': name, **more})}", data)

    def entry(self, answer, what="record"):
        return self.client.get(f"/runs/pipe/book/{answer.json['id']}/{what}")

    def after(self, answer, what, asked):
        return self.client.post(f"/runs/pipe/book/{answer.json['id']}/{what}", asked)

    def book(self):
        return [each["id"] for each in self.client.get("/runs/pipe/book").json]

    def nothing_left(self):
        place = self.folder.parent / ".service" / "uploads"
        return not place.is_dir() or list(place.iterdir()) == []


@pytest.fixture(scope="module")
def shelf(tmp_path_factory, record):
    results = tmp_path_factory.mktemp("hall") / "results"
    run_folder(results / "pipe", [record], project_text=PIPE)
    with served(results) as client:
        yield Shelf(client, results, record)


@pytest.fixture(scope="module")
def prototype(record):
    return Prototype(record, np.random.default_rng(3), 4.0, 9.0)


@pytest.fixture(scope="module")
def takes(prototype, tmp_path_factory):
    """Files of two takes, each note once."""
    rng, folder = np.random.default_rng(4), tmp_path_factory.mktemp("takes")
    return [kept(folder / f"take-{n}.flac", prototype.played(prototype.lines, rng)) for n in (1, 2)]


def table(record, cents, a4="# a4_hz = 440\n# temperament = equal\n"):
    rows = "".join(f"{note.written},{value}\n" for note, value in zip(record.notes, cents, strict=False))
    return f"{a4}note,pass_1_cents\n{rows}"


@pytest.fixture(scope="module")
def tuned(shelf):
    """The entry of a tuner table."""
    answer = shelf.send("notes.csv", table(shelf.record, [14, 9, 12, 18, 11]).encode())
    assert answer.status == 201, answer.text
    return answer


@pytest.fixture(scope="module")
def fit(shelf, tuned):
    answer = shelf.after(tuned, "fit", {"next": 3})
    assert answer.status == 201, answer.text
    return answer


@pytest.fixture(scope="module")
def correction(shelf, fit):
    answer = shelf.after(fit, "correction", {"seconds": 1.0})
    assert answer.status == 201, answer.text
    return answer


def test_sheets_for_the_bench_are_those_of_the_program(shelf):
    answer = shelf.client.get(f"{shelf.layout}/bench-sheet?passes=2")
    assert (answer.status, answer.headers["content-type"]) == (200, "text/csv; charset=utf-8")
    assert "attachment" in answer.headers["content-disposition"]
    head, *rows = [line for line in answer.text.splitlines() if not line.startswith("#")]
    assert head == "note,register,fingering,pass_1_cents,pass_2_cents"
    assert {row.split(",")[0] for row in rows} == {note.written for note in shelf.record.notes}
    gauges = shelf.client.get(f"{shelf.layout}/gauge-sheet")
    assert [line for line in gauges.text.splitlines() if line.startswith("hole,g")] != []


def test_a_tuner_table_becomes_an_entry_with_its_layout(shelf, tuned, tmp_path):
    (path := tmp_path / "notes.csv").write_text(table(shelf.record, [14, 9, 12, 18, 11]))
    assert shelf.entry(tuned).json == read_tuner_table(path, shelf.record).model_dump(mode="json")
    assert (tuned.json["kind"], tuned.json["layout"]) == ("tuner table", shelf.record.id)
    kept_layout = read_record(shelf.folder / "book" / tuned.json["id"] / "layout.json", LayoutRecord)
    assert kept_layout == shelf.record
    assert shelf.nothing_left()


def test_a_fit_is_what_the_program_finds(shelf, tuned, fit, tmp_path):
    (path := tmp_path / "notes.csv").write_text(table(shelf.record, [14, 9, 12, 18, 11]))
    alone = calibrated(shelf.record, read_tuner_table(path, shelf.record), (), 3)
    assert shelf.entry(fit).json == alone.model_dump(mode="json")
    assert fit.json["based_on"] == [tuned.json["id"]]
    assert "source" in shelf.entry(fit, "learned").text


def test_a_correction_has_its_list_page_and_picture(shelf, correction):
    found = shelf.entry(correction).json
    assert found["number"] == 1
    assert [stage["what"] for stage in found["history"]][:2] == ["designed", "measured"]
    page = shelf.entry(correction, "page")
    assert (page.status, page.headers["content-type"]) == (200, "text/html; charset=utf-8")
    assert "sandbox" in page.headers["content-security-policy"]
    picture = shelf.entry(correction, "picture")
    assert picture.headers["content-type"] == "image/svg+xml"
    assert picture.text.lstrip().startswith("<")


def test_what_was_done_is_what_the_next_measurement_is_held_against(shelf, correction):
    steps = shelf.entry(correction).json["steps"]
    assert steps, "the table was to need a change"
    first = steps[0]
    amount = round(0.5 * first["whole"], 3)
    done = shelf.after(correction, "done", {"steps": [{"number": first["number"], "amount": amount}]})
    assert done.status == 200, done.text
    assert done.json["done"] == [{"number": first["number"], "amount": amount}]
    by_hand = as_corrected(shelf.record, [Change(first["kind"], first["place"], amount)], 1)
    left = read_record(shelf.folder / "book" / done.json["id"] / "corrected.json", LayoutRecord)
    assert [note.cents for note in left.notes] == pytest.approx([note.cents for note in by_hand.notes], abs=1e-9)
    second = shelf.send("again.csv", table(shelf.record, [3, -2, 1, 4, 0]).encode(), after=done.json["id"])
    assert (second.status, second.json["after"]) == (201, done.json["id"])
    again = shelf.after(shelf.after(second, "fit", {}), "correction", {"seconds": 1.0})
    assert again.status == 201, again.text
    found = shelf.entry(again).json
    assert found["number"] == 2
    assert [stage["what"] for stage in found["history"]].count("measured") == 2


def test_recordings_are_heard_and_a_second_one_joins_the_first(shelf, prototype, takes):
    first = shelf.send("take-1.flac", takes[0].read_bytes())
    assert (first.status, first.json["kind"]) == (201, "recording"), first.text
    heard = shelf.entry(first).json
    assert [note["cents"] for note in heard["notes"]] == pytest.approx(
        [prototype.wanted_cents(line) for line in prototype.lines], abs=0.3
    )
    both = shelf.send("take-2.flac", takes[1].read_bytes(), into=first.json["id"])
    assert (both.status, both.json["id"]) == (201, first.json["id"]), both.text
    assert shelf.entry(both).json == measured(shelf.record, takes).measurement.model_dump(mode="json")
    assert shelf.entry(both, "picture").text.count("take-2.flac") >= 1
    assert shelf.nothing_left()


def test_takes_that_join_a_session_at_once_are_all_kept(shelf, takes):
    into = shelf.send("take-1.flac", takes[0].read_bytes()).json["id"]
    with ThreadPoolExecutor(3) as hands:
        sent = hands.map(lambda n: shelf.send(f"more-{n}.flac", takes[1].read_bytes(), into=into), range(3))
        last = list(sent)[-1]
    found = {take["source"] for take in shelf.entry(last, "takes").json["takes"]}
    assert found == {"take-1.flac", "more-0.flac", "more-1.flac", "more-2.flac"}


def test_a_wrong_note_is_put_right_and_the_cents_follow(shelf, prototype, takes):
    sent = shelf.send("take-1.flac", takes[0].read_bytes())
    before = shelf.entry(sent).json["notes"]
    tones = shelf.entry(sent, "takes").json["takes"][0]["tones"]
    place = next(n for n, tone in enumerate(tones) if tone["line"] == 0)
    out = shelf.after(sent, "assignments", {"tones": [{"take": 0, "tone": place, "line": None}]})
    assert out.status == 200, out.text
    assert [note["line"] for note in shelf.entry(sent).json["notes"]] == [note["line"] for note in before[1:]]
    one = prototype.lines[1]
    asked = {"tones": [{"take": 0, "tone": place, "line": one.number}]}
    assert shelf.after(sent, "assignments", asked).status == 200
    played = 1200 * np.log2(tones[place]["hz"] / one.wanted_hz)
    cents = {note["line"]: note["takes"] for note in shelf.entry(sent).json["notes"]}
    assert any(value == pytest.approx(played, abs=1e-6) for value in cents[1])
    far = {"tones": [{"take": 0, "tone": place, "line": 4}]}
    refused = shelf.after(sent, "assignments", far)
    assert refused.status == 422
    assert "it was another note" in refused.json["detail"]


def test_gauge_readings_and_an_impedance_are_told_apart(shelf):
    hole = shelf.record.holes[0]
    text = f"what,where,reading_mm,tool\nhole,{hole.id},{hole.diameter_mm + 0.1:.2f},telescope\n"
    gauged = shelf.send("gauges.csv", text.encode())
    assert (gauged.status, gauged.json["kind"]) == (201, "gauge readings"), gauged.text
    assert shelf.entry(gauged).json["values"][0]["value_mm"] == pytest.approx(hole.diameter_mm + 0.1, abs=0.01)
    flat = "".join(f"{hz},1.0,0.1\n" for hz in np.arange(100.0, 2000.0, 4.0))
    answer = shelf.send("z.csv", f"frequency_hz,impedance_real_over_z0,impedance_imag_over_z0\n{flat}".encode())
    assert answer.status == 422
    assert "how warm the air was" in answer.json["detail"]


def test_an_entry_that_is_taken_out_is_not_lost(shelf):
    sent = shelf.send("gone.csv", table(shelf.record, [1, 2, 3]).encode())
    name = sent.json["id"]
    assert shelf.client.ask("DELETE", f"/api/v1/runs/pipe/book/{name}").json == {"taken_out": name}
    assert name not in shelf.book()
    assert shelf.entry(sent).status == 404
    assert (shelf.folder / "book" / f".{name}" / "record.json").is_file()
    assert shelf.send("next.csv", table(shelf.record, [1, 2, 3]).encode()).json["id"] > name


def test_what_others_rest_on_stays_in_the_book(shelf, tuned, fit):
    refused = shelf.client.ask("DELETE", f"/api/v1/runs/pipe/book/{tuned.json['id']}")
    assert refused.status == 409
    assert f"{fit.json['id']} " in refused.json["detail"]
    assert "came from entry" in refused.json["detail"]
    assert tuned.json["id"] in shelf.book()


def test_commands_and_the_service_go_on_from_each_other(shelf, tmp_path, capsys):
    (notes := tmp_path / "notes.csv").write_text(table(shelf.record, [14, 9, 12, 18, 11]))
    assert told(capsys, "correct", shelf.folder, notes, "--seconds", "0.05")[0] == 0
    fit, correction = shelf.client.get("/runs/pipe/book").json[-2:]
    assert (fit["kind"], correction["kind"], correction["based_on"]) == ("fit", "correction", [fit["id"]])
    first = shelf.client.get(f"/runs/pipe/book/{correction['id']}/record").json
    step = first["steps"][0]
    done = [{"number": step["number"], "amount": 0.5 * step["whole"]}]
    assert shelf.client.post(f"/runs/pipe/book/{correction['id']}/done", {"steps": done}).json["done"] == done
    assert told(capsys, "correct", shelf.folder, notes, "--seconds", "0.05")[0] == 0
    last = shelf.client.get("/runs/pipe/book").json[-1]
    assert (last["kind"], last["after"]) == ("correction", correction["id"])
    second = shelf.client.get(f"/runs/pipe/book/{last['id']}/record").json
    assert second["number"] == first["number"] + 1
    assert second["history"][: len(first["history"]) - 1] == first["history"][:-1]


def test_what_an_entry_is_not_for_is_refused(shelf, tuned, fit, correction):
    for answer, words in (
        (shelf.after(fit, "fit", {}), "is no measurement of notes, but: fit"),
        (shelf.after(tuned, "correction", {}), "is no fit, but: tuner table"),
        (shelf.after(tuned, "done", {"steps": []}), "is no correction, but: tuner table"),
        (shelf.after(tuned, "assignments", {"tones": [{"take": 0, "tone": 0, "line": 0}]}), "is no recording"),
        (shelf.after(correction, "done", {"steps": [{"number": 99, "amount": 1.0}]}), "the list has no step 99"),
        (shelf.after(correction, "done", {"steps": [{"number": 1, "amount": 1e6}]}), "can change by"),
        (shelf.after(correction, "done", {"steps": [{"number": 1, "amount": 0.0}] * 2}), "step 1 stands 2 times"),
        (shelf.send("x.csv", b"note\n", after=tuned.json["id"]), "is no correction of layout"),
    ):
        assert answer.status == 422
        assert words in json.dumps(answer.json)
    assert shelf.entry(tuned, "page").status == 404
    assert shelf.client.get("/runs/pipe/book/999").status == 404


def test_who_follows_a_run_is_told_of_its_book(shelf):
    with shelf.client.following("/runs/pipe/events") as events:
        first = next(events)[1]
        sent = shelf.send("notes.csv", table(shelf.record, [1, 2, 3]).encode())
        assert sent.status == 201
        later = next(events)[1]
    assert later["book"] not in (None, first["book"])
    assert later["front"] == first["front"]


def test_gauge_readings_count_beside_the_notes_of_a_fit(shelf, tuned, fit):
    hole = shelf.record.holes[0]
    text = f"what,where,reading_mm,tool\nhole,{hole.id},{hole.diameter_mm + 0.05:.3f},telescope\n"
    gauged = shelf.send("gauges.csv", text.encode()).json["id"]
    both = shelf.after(tuned, "fit", {"gauged": [gauged], "next": 3})
    assert both.status == 201, both.text
    assert both.json["based_on"] == [tuned.json["id"], gauged]
    name = f"diameter of {hole.id}"
    left = [
        next(each["left"] for each in shelf.entry(one).json["numbers"] if each["name"] == name) for one in (both, fit)
    ]
    assert left[0] < left[1]
    refused = shelf.after(tuned, "fit", {"gauged": [tuned.json["id"]]})
    assert (refused.status, "is no table of gauge readings" in refused.json["detail"]) == (422, True)
