"""A measured impedance beside the computed one: resonance by resonance."""

from collections.abc import Sequence

from optimizer.records.impedance import ImpedanceRecord, ResonancePair
from optimizer.views.table import Column, Table, tabled

PAIRS: Sequence[Column[ResonancePair]] = [
    Column("resonance", lambda pair: pair.number, "d"),
    Column("computed", lambda pair: pair.computed_hz, ".2f", "Hz"),
    Column("measured", lambda pair: pair.measured_hz, ".2f", "Hz"),
    Column("cents", lambda pair: pair.cents, "+z.1f"),
]


def impedance_table(record: ImpedanceRecord) -> Table:
    """Every resonance, computed and measured."""
    title = f"Resonances of {record.note} without reed and player, {record.temperature_degC:g} degC"
    said = "cents: the measured one above the computed one; a dash where the other was not found within 150 cents"
    middle = [] if record.median_cents is None else [f"median {record.median_cents:+.1f} cents"]
    return tabled(title, PAIRS, record.resonances, notes=[said, *middle])
