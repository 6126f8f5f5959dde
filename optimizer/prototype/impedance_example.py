"""An example of a measured impedance: the form to bring a rig's figures into, with a layout's own filled in."""

import numpy as np

from optimizer.prototype.impedance_match import Conditions, computed_impedance
from optimizer.records.layout import LayoutRecord
from optimizer.solving.real_resonances import ALL_TOP_HZ

ROWS_A_SEMITONE = 10
EXAMPLE = {"temperature_degc": "20"}
"""What is not told of the measurement to come."""
REMARKS = (
    "{instrument}, layout {layout}, all of it computed: put in what was measured instead",
    "note = {note}",
    "temperature_degC = {degrees:g}",
    "humidity_percent = {humidity:g}",
    "plane_mm = {plane:g}",
)


def impedance_example(record: LayoutRecord, how: Conditions, network: bool) -> str:
    """The text of a table (.csv), or of a network analyser's one-port file (.s1p, Touchstone 1.1).

    Parameters
    ----------
    record : the layout
    how : it is to be measured
    network : whether as a network analyser's file

    Raises
    ------
    Fault
        where a hole before the plane is open, or the plane lies beyond the bore
    """
    lowest = 0.5 * min(note.target_hz for note in record.notes)
    count = 1 + round(12 * ROWS_A_SEMITONE * np.log2(ALL_TOP_HZ / lowest))
    f = np.round(np.geomspace(lowest, ALL_TOP_HZ, count), 3)
    z, own = computed_impedance(record, how, f)
    values = (z / own - 1.0) / (z / own + 1.0) if network else z
    told = {
        "instrument": record.instrument,
        "layout": record.id,
        "note": how.note.written,
        "degrees": how.temperature_degC,
        "humidity": how.humidity_percent,
        "plane": how.plane_mm,
    }
    mark, between = ("!", " ") if network else ("#", ",")
    head = "# Hz S RI R 1" if network else "frequency_hz,impedance_real_pa_s_per_m3,impedance_imag_pa_s_per_m3"
    rows = [
        between.join((f"{at:.3f}", f"{value.real:.6g}", f"{value.imag:.6g}"))
        for at, value in zip(f, values, strict=True)
    ]
    return "\n".join([*(f"{mark} {line.format(**told)}" for line in REMARKS), head, *rows, ""])
