"""`bench` and `fit`: a table to take to the bench, and what the instrument says once it is filled in."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from optimizer.commands.options import Json, Layout, RunOrLayout, file, flag, given, measure, option, text, word
from optimizer.project.allowed_ranges import A4_HZ, AIR_DEGC, SEED, Bounds
from optimizer.project.faults import Fault

if TYPE_CHECKING:
    from optimizer.prototype.tuner_table import Tuner
    from optimizer.records.gauge import GaugedValue
    from optimizer.records.layout import LayoutRecord
    from optimizer.records.measurement import MeasurementRecord

PASSES = Bounds(least=1, most=9)
STEPS = Bounds(least=0, most=40)

OF_PART = {
    "reed": ("reed_volume_cm3",),
    "staple": ("staple_bore_mm",),
    "crook": ("crook_bore_mm",),
    "player": ("temperature_degC",),
    "printer": ("all_holes_mm", "shrinkage_percent"),
}
"""What is learned of each part that the next instrument may not share."""

Measured = Annotated[Path, given("MEASURED", "tuner table (.csv, .toml), or a measurement (.json)")]


def bench(
    path: RunOrLayout,
    layout: Layout = None,
    passes: Annotated[int, measure("--passes", int, PASSES, "how often every note is played")] = 3,
    seed: Annotated[int, measure("--seed", int, SEED, "seed of the order")] = 1,
    test_bore: Annotated[
        bool, flag("--test-bore", "for a plain print of the bore, without holes, before the instrument is printed")
    ] = False,
    csv: Annotated[Path | None, file("--csv", "write the table there (default: print it)")] = None,
) -> int:
    """A table of a layout's notes to fill in at the bench, the most telling ones first.

    Raises
    ------
    Fault
        for a layout that does not sound
    """
    from optimizer.commands.console import console, write_if_asked
    from optimizer.prototype.bench_sheet import bench_csv, bench_order
    from optimizer.prototype.first_notes import first_notes
    from optimizer.prototype.plain_bore import doubt_after, sheet
    from optimizer.records.files import write_text
    from optimizer.records.named_layouts import chosen_layout
    from optimizer.views.calibration_tables import next_table
    from optimizer.views.terminal import show_table

    record = chosen_layout(path, layout)
    try:
        steps = first_notes(record, passes)
        table = bench_csv(record, bench_order(record, seed, [step.name for step in steps]), passes)
        table = sheet(record) if test_bore else table
        if csv is None:
            print(table, end="")
            return 0
        before, after = doubt_after(record)
    except ValueError as error:
        raise Fault(str(error)) from None
    console().print(
        f"before it is printed: its reed on a plain print of its bore (--test-bore) leaves {after:.1f} of {before:.1f} "
        "cents of doubt",
        soft_wrap=True,
    )
    if not test_bore:
        show_table(console(), next_table(steps))
    write_if_asked(csv, lambda place: write_text(place, table))
    return 0


def fit(
    path: RunOrLayout,
    measured: Measured,
    layout: Layout = None,
    a4: Annotated[float | None, measure("--a4", float, A4_HZ, "pitch of A4 that the tuner stood at, Hz")] = None,
    temperament: Annotated[str | None, text("--temperament", "NAME", "temperament of the tuner")] = None,
    bell_degc: Annotated[float | None, measure("--bell-degc", float, AIR_DEGC, "air at the bell end, degC")] = None,
    gauged: Annotated[
        Path | None, file("--gauged", "gauge readings (.csv), or what `gauged` made of them (.json)")
    ] = None,
    test_bore: Annotated[
        bool, flag("--test-bore", "MEASURED is the table of a test bore, as `bench --test-bore` writes it")
    ] = False,
    next: Annotated[int, measure("--next", int, STEPS, "how many measurements to name that would say most now")] = 6,
    learned: Annotated[
        Path | None, file("--learned", "write what other instruments may take from it there, for `search` and others")
    ] = None,
    another: Annotated[
        list[str] | None,
        option(
            "--another", word("--another", list(OF_PART)), "PART", "what the others have another one of, such as crook"
        ),
    ] = None,
    json: Json = None,
) -> int:
    """What measured notes say of reed, air, bore and holes."""
    from optimizer.commands.console import console, write_if_asked
    from optimizer.prototype.calibration import calibrated
    from optimizer.prototype.learned_file import learned_toml
    from optimizer.prototype.tuner_table import Tuner
    from optimizer.records.files import write_record, write_text
    from optimizer.records.named_layouts import chosen_layout
    from optimizer.views.calibration_tables import show_calibration

    record, aside = chosen_layout(path, layout), [kind for part in another or () for kind in OF_PART[part]]
    if test_bore:
        return _fit_test_bore(record, measured, learned, aside)
    heard = tuner_or_measurement(measured, record, Tuner(a4, temperament, bell_degc))
    found = calibrated(record, heard, [] if gauged is None else _gauged(gauged, record), next)
    show_calibration(console(), found)
    write_if_asked(learned, lambda place: write_text(place, learned_toml(found.learned.without(aside))))
    write_if_asked(json, lambda place: write_record(place, found))
    return 0


def _fit_test_bore(record: "LayoutRecord", measured: Path, learned: Path | None, aside: list[str]) -> int:
    """What a test bore says, and for whom."""
    from optimizer.commands.console import console, write_if_asked
    from optimizer.prototype.learned_file import learned_toml
    from optimizer.prototype.plain_bore import read_test_bore, taught
    from optimizer.records.files import write_text
    from optimizer.views.terminal import show_lines

    found, told = taught(record, read_test_bore(measured, record), measured.name)
    show_lines(console(), told, heading=f"{record.instrument}: what its test bore says", whole=True)
    write_if_asked(learned, lambda place: write_text(place, learned_toml(found.without(aside))))
    return 0


def tuner_or_measurement(path: Path, record: "LayoutRecord", tuner: "Tuner") -> "MeasurementRecord":
    """What was measured of a layout's notes, from the table of a tuner or a measurement's file."""
    from optimizer.prototype.tuner_table import read_tuner_table
    from optimizer.records.files import read_record
    from optimizer.records.measurement import MeasurementRecord

    if path.suffix.lower() == ".json":
        return read_record(path, MeasurementRecord)
    return read_tuner_table(path, record, tuner)


def _gauged(path: Path, record: "LayoutRecord") -> "list[GaugedValue]":
    from optimizer.prototype.gauged_layout import gauged
    from optimizer.records.files import read_record
    from optimizer.records.gauge import GaugedRecord

    return (read_record(path, GaugedRecord) if path.suffix.lower() == ".json" else gauged(record, path)).values
