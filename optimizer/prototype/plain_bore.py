"""A test bore: the reed of an instrument to come on a plain print of its bore, without holes, cut shorter and shorter.

Its resonances tell of reed, air, staple and crook, and of what the formulas of walls and of the open end lack, with no
hole in it to blame. Each length is a duct by itself; all have the same numbers.
"""

from pathlib import Path
from typing import NamedTuple

import numpy as np

from acoustics.arrays import Floats
from acoustics.pitch import midi_number, note_frequency
from acoustics.resonances import spectrum
from optimizer.project.allowed_ranges import A4_HZ
from optimizer.project.faults import Fault
from optimizer.project.learned import Learned
from optimizer.prototype.calibration import shared_of
from optimizer.prototype.map_fit import Found, Observed, fitted, posterior
from optimizer.prototype.measured_table import MeasuredTable, read_table, table_text
from optimizer.prototype.next_best import doubt_of
from optimizer.prototype.played_model import Played, played
from optimizer.prototype.quantities import Quantity
from optimizer.prototype.takes import ROUNDED_CENTS
from optimizer.records.layout import LayoutRecord
from optimizer.records.measurement import PLAYED_CENTS
from optimizer.solving.real_resonances import predict, record_duct
from optimizer.words import cut

LENGTHS = (1.0, 0.8, 0.65)
"""Of the whole bore: as printed, then cut twice. Common practice, no source."""

SOUND_MM_S = 340e3
"""About the speed of sound; a complete cone sounds that over twice its length, a closed cylinder half of it."""

LEAST = 2
"""So many lengths at the least."""

QUANTITIES = (
    Quantity("length", "mm", "from the reed end to where it is cut", True, 50.0, 6000.0),
    Quantity("pitch", "hz", "what it sounded", False, 20.0, 4000.0),
    Quantity("note", "", "or what the tuner named it, as it sounds: C4"),
    Quantity("reading", "cents", "and how far off the needle stood", False, -60.0, 60.0),
)


class Sounded(NamedTuple):
    """What a test bore sounded: its length [mm] and pitch [Hz]."""

    length_mm: float
    hz: float


class PlainBore(NamedTuple):
    """The ducts of all lengths as they were played (n,), and the numbers (P,) that all of them have."""

    each: tuple[Played, ...]

    @property
    def names(self) -> list[str]:
        """Of the numbers."""
        return self.each[0].names

    @property
    def sd(self) -> Floats:
        """One standard deviation of each (P,), in the unit of its kind."""
        return self.each[0].sd

    def cents(self, theta: Floats) -> Floats:
        """What each length (n,) lies above what was heard [cents]."""
        return np.concatenate([one.cents(theta) for one in self.each])

    def slopes(self, theta: Floats, cents: Floats) -> Floats:
        """Slopes (n, P) of that [cents for one standard deviation]."""
        return np.concatenate([
            one.slopes(theta, cents[n : n + 1]) for n, one in enumerate(self.each)
        ])  # fmt: skip


def read_test_bore(path: Path, record: LayoutRecord) -> list[Sounded]:
    """What a test bore sounded, a row a reading.

    Parameters
    ----------
    path : CSV text
    record : a layout with that bore; its A4 counts for notes where the table does not say `# a4_hz = 440`

    Raises
    ------
    TableError
        with everything that is wrong with the table
    """
    table = read_table(path, "table of a test bore", QUANTITIES)
    longest = record.bore.points_mm[-1][0]
    a4 = _a4(table, record.reference.a4_hz)
    found = []
    for row in table.rows:
        length, hz = row.number("length_mm") or 0.0, row.number("pitch_hz") or _by_needle(row.word("note"), a4)
        if not record.bore.crook_end_mm < length <= longest:
            said = f"must be more than {record.bore.crook_end_mm:g} and at most {longest:g}, but got {length:g}"
            table.problems.say(said, row.line, "length_mm")
        elif hz is None:
            table.problems.say("give pitch_hz, or a note such as C4 with reading_cents", row.line)
        else:
            found.append(Sounded(length, hz * 2.0 ** ((row.number("reading_cents") or 0.0) / 1200.0)))
    _enough(table, found)
    return found


def _a4(table: MeasuredTable, usual: float) -> float:
    """The tuner's A4 [Hz] as the table says it; what cannot be one is noted."""
    said = table.remarks.get("a4_hz")
    if said is None:
        return usual
    try:
        found = float(said)
        wrong = A4_HZ.wrong(found)
    except ValueError:
        found, wrong = usual, f"must be a number, but got {cut(said)!r}"
    if wrong:
        table.problems.say(f"a4_hz {wrong}")
    return found


def _by_needle(note: str | None, a4_hz: float) -> float | None:
    try:
        return None if note is None else note_frequency(midi_number(note), a4_hz)
    except ValueError:
        return None


def _enough(table: MeasuredTable, found: list[Sounded]) -> None:
    if not table.problems.found and len({each.length_mm for each in found}) < LEAST:
        table.problems.say("needs two lengths at the least: one alone does not tell reed from air")
    table.problems.refuse()


def sheet(record: LayoutRecord) -> str:
    """A table to fill in: the lengths to cut a plain print of a layout's bore to, each three times."""
    lengths = _lengths(record)
    told = [
        f"{record.instrument}: its bore printed plain, without holes, with the reed to be; cut shorter and shorter",
        "write pitch_hz, or the note that a tuner names as it sounds with reading_cents",
        f"a4_hz = {record.reference.a4_hz:g}",
    ]
    return table_text(
        [each.header for each in QUANTITIES],
        [[f"{length:.1f}", "", "", ""] for length in lengths for _ in range(3)],
        told,
    )


def _lengths(record: LayoutRecord) -> list[float]:
    """Lengths to cut a plain print to [mm]."""
    return [max(share * record.bore.points_mm[-1][0], record.bore.crook_end_mm + 50.0) for share in LENGTHS]


def resonance_hz(record: LayoutRecord, length_mm: float) -> float:
    """The lowest resonance of a layout's bore without holes, so long [Hz]."""
    whole = SOUND_MM_S / (2.0 * length_mm)
    found = spectrum(record_duct(_plain(record, length_mm)), np.zeros((1, 0)), 0.2 * whole, 3.0 * whole)
    return float(found[0].frequency[0])


def of_lengths(record: LayoutRecord, heard: list[Sounded]) -> PlainBore:
    """The model of a test bore.

    Parameters
    ----------
    record : a layout with that bore
    heard : its lengths; what each sounded

    Raises
    ------
    Fault
        where a length has no resonance near what was heard
    """
    each = []
    for one in heard:
        try:
            each.append(played(_cut(record, one)))
        except ValueError:
            raise Fault(f"{one.length_mm:g} mm of this bore has no resonance near {one.hz:.1f} Hz") from None
    return PlainBore(tuple(each))


def _cut(record: LayoutRecord, heard: Sounded) -> LayoutRecord:
    """A plain bore with one note: what was heard is what is wanted of it."""
    note = record.notes[0].model_copy(
        update={"openness": [], "target_hz": heard.hz, "register_number": 1, "alternate": False}
    )
    plain = _plain(record, heard.length_mm).model_copy(update={"notes": [note]})
    return plain.model_copy(update={"notes": predict(plain)})


def _plain(record: LayoutRecord, length_mm: float) -> LayoutRecord:
    """The bore of a layout without holes, so long; its notes are still those of the layout."""
    place, width = np.array(record.bore.points_mm).T
    end = length_mm, float(np.interp(length_mm, place, width))
    points = [*(point for point in record.bore.points_mm if point[0] < length_mm), end]
    bore = record.bore.model_copy(update={"points_mm": points})
    return record.model_copy(update={"bore": bore, "holes": [], "keys": [], "pieces": []})


def fitted_bore(record: LayoutRecord, heard: list[Sounded]) -> tuple[PlainBore, Found]:
    """The likeliest numbers of a test bore."""
    model = of_lengths(record, heard)
    sd = np.full(len(heard), float(np.hypot(PLAYED_CENTS, ROUNDED_CENTS)))
    return model, fitted(model, Observed(np.arange(len(heard)), np.zeros(len(heard)), sd))


def taught(record: LayoutRecord, heard: list[Sounded], source: str) -> tuple[Learned, list[str]]:
    """What a test bore teaches of instruments with that reed, and sentences of it.

    Parameters
    ----------
    record : a layout with that bore
    heard : what each length sounded
    source : of the readings
    """
    model, found = fitted_bore(record, heard)
    sure = np.sqrt(np.diag(found.covariance))
    told = [
        f"{name}: {found.theta[n] * model.sd[n]:+.3g}, +- {sure[n] * model.sd[n]:.2g} ({model.sd[n]:.2g} before)"
        for n, name in enumerate(model.names)
        if sure[n] < 0.95
    ]
    kinds = [kind if kind != "all_holes_mm" else "" for kind in model.each[0].kinds]
    learned = shared_of(kinds, model.sd, found.theta, found.covariance, record, f"test bore, {source}")
    return learned, told


def doubt_after(record: LayoutRecord) -> tuple[float, float]:
    """RMS doubt of a layout's main notes before anything was measured, and after a test bore of its own [cents]."""
    lengths = _lengths(record)
    bore = of_lengths(record, [Sounded(length, resonance_hz(record, length)) for length in lengths])
    model = played(record)
    zero = np.zeros(len(bore.names))
    seen = bore.slopes(zero, bore.cents(zero))
    rows = np.zeros((len(lengths), len(model.names)))
    for number, name in enumerate(bore.names):
        if name in model.names:
            rows[:, model.names.index(name)] = seen[:, number]
    slopes = model.slopes(np.zeros(len(model.names)), model.layout.cents)
    main = slopes[model.layout.main] * ~model.of_measurement
    covariance, _ = posterior(rows, np.full(len(lengths), PLAYED_CENTS / np.sqrt(3.0)))
    return doubt_of(main, np.eye(len(model.names))), doubt_of(main, covariance)
