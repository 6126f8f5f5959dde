"""Every reader of a file that somebody else wrote, and what must hold whatever is in it."""

import json
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path
from typing import Any

from made_records import layout
from odd_texts import changed_json, changed_text, smallest
from places import CONFIGS, REFERENCE, TESTS

from optimizer.project.faults import Fault
from optimizer.records.kinds import RECORDS

CORPUS = TESTS / "corpus"
"""Files that were found by search, a folder for each reader: what once failed, and what reaches furthest."""

SECONDS_MOST = 5.0
"""Of processor time for one file, as others may be at work on the machine."""

LONGEST = 20_000
"""Bytes of a text that is searched with; what is larger is bounded by the readers' own limits."""


class SlowError(Exception):
    """A file that took too long."""


@dataclass(frozen=True)
class Reader:
    """What reads files of one kind.

    Attributes
    ----------
    read : reads a file, and uses what it read
    ending : of the names of such files
    seeds : files to begin with
    change : makes another text of one; None where files are no text
    """

    read: Callable[[Path], object]
    ending: str
    seeds: Callable[[], Iterator[bytes]]
    change: Callable[..., str] | None = changed_text


def outcome(name: str, data: bytes, place: Path) -> str:
    """What a file is to a reader: `sound` or `told`; anything else, or too long a time, is an error."""
    reader = READERS[name]
    file = place / f"file{reader.ending}"
    file.write_bytes(data)
    begun = time.process_time()
    try:
        reader.read(file)
        said = None
    except Fault as fault:
        said = fault.problems
    spent = time.process_time() - begun
    if spent > SECONDS_MOST:
        raise SlowError(f"{spent:.1f} s")
    assert said is None or (said and all(said)), "a fault that says nothing"
    return "sound" if said is None else "told"


def laid_out(place: Path) -> Path:
    """A folder with the demos' hand, printer and stock files for projects to name."""
    place.mkdir(exist_ok=True)
    for kind in ("hands", "printers", "stock"):
        (place / kind).symlink_to(CONFIGS / kind)
    return place


def _project(file: Path) -> None:
    from optimizer.project.loading import likely_mistakes, load_project
    from optimizer.views.project_overview import overview

    loaded = load_project(file)
    likely_mistakes(loaded)
    overview(loaded)


def _included(key: str, file: Path) -> None:
    from optimizer.project.included import INCLUDED, read_included, taken_in

    taken_in((CONFIGS / "meadow-pipe.toml").read_text(), read_included(file, INCLUDED[key], key))


def _record(file: Path) -> None:
    """A record of the kind that it says it is, once more as it would be written; another is read as a layout."""
    from optimizer.records.files import read_record, write_record

    kind = RECORDS["layout"]
    try:
        said = json.loads(file.read_bytes())["schema_name"]
        kind = next(each for each in RECORDS.values() if each.model_fields["schema_name"].default == said)
    except (ValueError, KeyError, TypeError, StopIteration, RecursionError):
        pass
    found = read_record(file, kind)
    again = file.with_name("again.json")
    write_record(again, found)
    assert read_record(again, kind) == found, "a record that is written is not what was read"


@cache
def _tenor() -> Any:
    from optimizer.records.files import read_record

    return read_record(CONFIGS / "prototypes" / "lantern-tenor.json", RECORDS["layout"])


def _recording(file: Path) -> None:
    from optimizer.hearing.recording import levels, read_recording

    found = read_recording(file)
    levels(found.samples)


def _order(file: Path) -> None:
    from optimizer.hearing.wanted import lines_of, read_order

    read_order(file, lines_of(_tenor(), 440.0))


def _notes(file: Path) -> None:
    from optimizer.prototype.tuner_table import read_tuner_table

    read_tuner_table(file, _tenor())


def _gauges(file: Path) -> None:
    from optimizer.prototype.gauged_layout import gauged

    gauged(layout(), file)


def _holes(file: Path) -> None:
    """Of a project's holes, and of one that has none."""
    from optimizer.project.toml_text import tables_of
    from optimizer.prototype.present_tables import read_holes

    known = tables_of((CONFIGS / "attic-reed.toml").read_text())["holes"]
    with suppress(Fault):
        read_holes(file, {}, 600.0)
    read_holes(file, known, None)


def _bore(file: Path) -> None:
    from optimizer.prototype.present_tables import read_bore

    read_bore(file)


def _test_bore(file: Path) -> None:
    from optimizer.prototype.plain_bore import read_test_bore

    read_test_bore(file, _tenor())


def _impedance(file: Path) -> None:
    from optimizer.prototype.impedance_file import read_impedance
    from optimizer.prototype.impedance_match import matched
    from optimizer.prototype.impedance_told import conditions

    record = layout()
    found = read_impedance(file)
    matched(record, found, file.name, conditions(record, found.remarks, "A4", 21.0))


def _coupon(file: Path) -> None:
    from optimizer.project.printer import Printer
    from optimizer.prototype.coupon_figures import coupon_record
    from optimizer.prototype.coupon_readings import read_coupons
    from optimizer.prototype.printer_file import learned_printer, printer_toml

    record = coupon_record(read_coupons(file), file.name)
    printer, _ = learned_printer(record, Printer())
    printer_toml(printer, record)


def _present(file: Path, gauged: bool = False) -> None:
    """An instrument that is made: its project, or the gauge readings of it."""
    from optimizer.prototype.present_project import Told, present_project

    tables = [CONFIGS / "present" / f"attic-reed-{what}.csv" for what in ("holes", "bore", "readings")]
    project = CONFIGS / "attic-reed.toml" if gauged else file
    present_project(project, Told(tables[0], tables[1], 0.5, 620.0, (), file if gauged else tables[2]))


def _bench(file: Path) -> None:
    from optimizer.service.bench_files import kind_of

    kind_of(file)


def _texts(*patterns: str, most: int = LONGEST) -> Iterator[bytes]:
    for pattern in patterns:
        for path in sorted(CONFIGS.glob(pattern)):
            yield path.read_bytes()[:most]


def _impedances(network: bool) -> Iterator[bytes]:
    from optimizer.prototype.impedance_example import impedance_example
    from optimizer.prototype.impedance_match import Conditions

    record = layout()
    text = impedance_example(record, Conditions(record.notes[0], 21.0), network)
    yield "\n".join(text.splitlines()[:60]).encode()


def _records() -> Iterator[bytes]:
    yield layout().model_dump_json().encode()
    for kind in RECORDS.values():
        yield json.dumps(smallest(kind.model_json_schema(mode="serialization"))).encode()
    for folder in ("run_0_1_0", "run_1_6"):
        for path in sorted((REFERENCE / folder).glob("*.json")):
            yield path.read_bytes()[:LONGEST]


def _sounds() -> Iterator[bytes]:
    import io

    import numpy as np
    import soundfile

    for rate, channels, kind, subtype in (
        (16_000, 1, "WAV", "PCM_16"), (44_100, 2, "WAV", "FLOAT"), (22_050, 1, "FLAC", "PCM_16"),
        (44_100, 1, "OGG", "VORBIS"), (16_000, 3, "AIFF", "PCM_24"),
    ):  # fmt: skip
        stream = io.BytesIO()
        samples = 0.3 * np.sin(np.outer(np.arange(rate // 20), np.arange(1, channels + 1)) * 2764.6 / rate)
        soundfile.write(stream, samples, rate, format=kind, subtype=subtype)
        yield stream.getvalue()


TEST_BORE = b"# a4_hz = 440\nlength_mm,pitch_hz,note,reading_cents\n900,120.5,,\n800,,C3,-12\n700,,D3,4\n"
NOTES = b'a4_hz = 440\ntemperament = "equal"\n[notes]\nC6 = { pass_1_cents = 3, pass_2_cents = -4.5 }\n'
HOLE = b"[holes]\n" + b"".join(
    b'"%s" = { from_reed_mm = %d, bore_end_mm = 6, chimney_mm = 4, worked_by = "L1" }\n' % (name, place)
    for name, place in ((b"h1", 300), (b"h2", 250))
)
LEARNED = b"""[learned]
numbers = { reed_volume_cm3 = [0.1, 0.02], crook_bore_mm = [0.2, 0.01] }
correlation = [[0.5]]
"""
GAUGES = b"""what,where,reading_mm,along_mm,around_mm,tool,flat_mm,times_x
hole,g1,6.1,,,go,,
hole,g1,6.2,,,no-go,,
hole,g2,,6.1,6.2,caliper,0.5,2
bore,0,20.1,,,telescope,,
length,bell,299.5,,,ruler,,
"""

READERS: dict[str, Reader] = {
    "project": Reader(_project, ".toml", partial(_texts, "*.toml")),
    "hand": Reader(partial(_included, "hand"), ".toml", partial(_texts, "hands/*.toml")),
    "printer": Reader(partial(_included, "printer"), ".toml", partial(_texts, "printers/*.toml")),
    "stock": Reader(partial(_included, "stock"), ".toml", partial(_texts, "stock/*.toml")),
    "learned": Reader(partial(_included, "learned"), ".toml", lambda: iter([LEARNED])),
    "record": Reader(_record, ".json", _records, changed_json),
    "recording": Reader(_recording, ".wav", _sounds, None),
    "order": Reader(_order, ".txt", partial(_texts, "prototypes/*.txt")),
    "notes": Reader(_notes, ".csv", partial(_texts, "prototypes/*notes*.csv")),
    "notes-toml": Reader(_notes, ".toml", lambda: iter([NOTES])),
    "gauges": Reader(_gauges, ".csv", lambda: iter([GAUGES])),
    "holes": Reader(_holes, ".csv", partial(_texts, "present/*holes.csv")),
    "holes-toml": Reader(_holes, ".toml", lambda: iter([HOLE])),
    "present": Reader(_present, ".toml", partial(_texts, "attic-reed.toml")),
    "present-gauges": Reader(partial(_present, gauged=True), ".csv", partial(_texts, "present/*readings.csv")),
    "bore": Reader(_bore, ".csv", partial(_texts, "present/*bore.csv")),
    "test-bore": Reader(_test_bore, ".csv", lambda: iter([TEST_BORE])),
    "impedance": Reader(_impedance, ".csv", partial(_impedances, False)),
    "impedance-s1p": Reader(_impedance, ".s1p", partial(_impedances, True)),
    "coupon": Reader(_coupon, ".csv", partial(_texts, "printers/*.csv")),
    "bench": Reader(_bench, ".csv", lambda: _texts("present/*.csv", "prototypes/*.csv", most=300)),
}
