"""What has to be told of a measured impedance beside its figures: by who asks, or else by a remark in the file."""

from collections.abc import Mapping

from optimizer.project.allowed_ranges import AIR_DEGC, AIR_HUMIDITY, PLANE_MM, Bounds
from optimizer.project.faults import Fault
from optimizer.prototype.impedance_match import Conditions
from optimizer.records.layout import LayoutRecord, NoteRecord

HUMIDITY_PERCENT = 50.0


def conditions(
    record: LayoutRecord,
    remarks: Mapping[str, str],
    note: str | None = None,
    temperature_degC: float | None = None,
    humidity_percent: float | None = None,
    plane_mm: float | None = None,
) -> Conditions:
    """How an impedance was measured.

    Parameters
    ----------
    record : the layout
    remarks : of the file, by name
    note, temperature_degC, humidity_percent, plane_mm : before what a remark says

    Raises
    ------
    Fault
        where note or temperature are not told, or a remark is none that can be meant
    """
    degrees = _said(temperature_degC, remarks, "temperature_degc", AIR_DEGC)
    if degrees is None:
        raise Fault("say how warm the air was, beside the file or by a remark `temperature_degC = 21.5` in it")
    humidity = _said(humidity_percent, remarks, "humidity_percent", AIR_HUMIDITY)
    plane = _said(plane_mm, remarks, "plane_mm", PLANE_MM)
    fingered = _note(record, note or remarks.get("note"))
    return Conditions(fingered, degrees, HUMIDITY_PERCENT if humidity is None else humidity, plane or 0.0)


def _said(value: float | None, remarks: Mapping[str, str], name: str, bounds: Bounds) -> float | None:
    """A figure by the option, or else by a remark in the file."""
    if value is not None or name not in remarks:
        return value
    try:
        found = float(remarks[name])
    except ValueError:
        raise Fault(f"the file's remark {name} must be a number, but is {remarks[name]!r}") from None
    if wrong := bounds.wrong(found):
        raise Fault(f"the file's remark {name} {wrong}")
    return found


def _note(record: LayoutRecord, name: str | None) -> NoteRecord:
    """The note that was fingered."""
    written = {note.written.lower(): note for note in reversed(record.notes)}
    known = ", ".join(dict.fromkeys(note.written for note in record.notes))
    if name is None:
        raise Fault(
            f"say which note was fingered, beside the file or by a remark `note = ...` in it; the layout has {known}"
        )
    if name.lower() not in written:
        raise Fault(f"the layout has no note {name!r}; it has {known}")
    return written[name.lower()]
