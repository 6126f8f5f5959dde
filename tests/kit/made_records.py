"""Records made by hand, of round numbers, so that what is compared can be worked out on paper."""

import json

from optimizer.project.model import AirState
from optimizer.project.uncertainty import Uncertainty
from optimizer.records.files import write_record
from optimizer.records.layout import (
    Binding,
    BoreTable,
    HoleRecord,
    LayoutRecord,
    NoteRecord,
    PadRecord,
    ReachRecord,
    ReedRecord,
    Reference,
)
from optimizer.records.pieces import PieceRecord
from optimizer.records.run import FrontEntry, FrontRecord, RunRecord


def fields(**values):
    """Fields by name."""
    return values


def hole(name, position, diameter=6.0, by="L1", **changes):
    """A hole on the front of a body 30 mm thick."""
    values = fields(
        id=name, role="tone", by=by, cover="key" if by == "key" else "finger", rest="open", position_mm=position,
        azimuth_deg=0.0, diameter_mm=diameter, top_diameter_mm=diameter, bore_diameter_mm=20.0, chimney_mm=5.0,
        body_diameter_mm=30.0, touch_position_mm=None if by == "key" else position, seat=None, pad=None,
        lattice_cutoff_hz=None, locked=False,
    )  # fmt: skip
    return HoleRecord.model_validate(values | changes)


PAD = PadRecord(diameter_mm=10.0, cup_diameter_mm=12.0, opening_mm=3.0)


def note(written, cents, register=1, touches="L1", alternate=False, height=None, openness=(0.0, 1.0), **changes):
    """A chart line that sounds as wanted."""
    values = fields(
        written=written, sounding=written, register_number=register, alternate=alternate, touches=touches,
        openness=list(openness), weight=1.0, target_hz=440.0, status="ok", frequency_hz=440.0, cents=cents,
        resonance_number=register, quality=20.0, height_over_lower=height, height_over_upper=1.0,
        vent_moves_cents=None, sd_cents=2.0,
    )  # fmt: skip
    return NoteRecord.model_validate(values | changes)


def pair(name, spacing):
    """A pair of fingers of a hand that is comfortable to 24 mm and works to 30."""
    return ReachRecord(pair=name, spacing_mm=spacing, comfortable_mm=24.0, working_mm=30.0, maximum_mm=37.5, sd_mm=2.0)


def piece(low, high):
    """A piece between two places, without its joint."""
    return PieceRecord(from_mm=low, to_mm=high, joint_mm=0.0, length_mm=high - low, holes=[])


def layout(name="t00001", **changes):
    """A layout of two bare holes and two notes on a cylinder 20 mm wide and 300 long with a wall of 5 mm; of other
    holes than its notes speak of, all are open."""
    values = fields(
        id=name,
        instrument="Lantern Hall Practice Pipe",
        reference=Reference(
            a4_hz=440.0, temperament="equal", transposition_semitones=0,
            air=AirState(reed_degC=25.0, bell_degC=21.0), uncertainty=Uncertainty(), register_ratio_min=1.0,
        ),
        reed=ReedRecord(volume_cm3=0.3, cavity_diameter_mm=None, compliance_cm3=0.0, resonance_hz=None, damping=0.0),
        bore=BoreTable(points_mm=[(0.0, 20.0), (300.0, 20.0)], wall_mm=5.0, crook_end_mm=0.0),
        holes=[hole("g1", 220.0, by="L2"), hole("g2", 200.0)],
        keys=[],
        notes=[note("A4", 1.0, openness=(0.0, 0.0), touches="L12"), note("B4", -2.0)],
        reach=[pair("L1-L2", 20.0)],
        objectives={"tuning": 1.5, "worst_note": 2.0, "stretch": 0.0, "unevenness": 10.0, "plates": 0.0},
        feasible=True,
        margins_mm={"order.g1-g2": 20.0, "reach.L1-L2": 10.0},
        binds=[],
        warnings=[],
        cautions=[],
        provenance={},
    )  # fmt: skip
    values |= changes
    each = [note.openness for note in values["notes"]]
    if any(len(openness) != len(values["holes"]) for openness in each):
        all_open = {"openness": [1.0] * len(values["holes"])}
        values["notes"] = [note.model_copy(update=all_open) for note in values["notes"]]
    return LayoutRecord.model_validate(values)


def binding(name):
    """A limit that binds."""
    return Binding(name=name, margin_mm=0.0, sentence=f"{name} must hold")


def front(points, names=("tuning", "stretch"), feasible=True):
    """A front of layouts by their objectives, t00000 first."""
    entries = [
        FrontEntry(id=f"t{number:05d}", file=f"layouts/t{number:05d}.json", wrong_notes=0, violation_mm=0.0, binds=[],
                   objectives={"tuning": 1.0} | dict(zip(names, point, strict=True)))
        for number, point in enumerate(points)
    ]  # fmt: skip
    return front_of_entries(entries, names, feasible)


def front_of_entries(entries, names, feasible):
    """A front of these lines."""
    return FrontRecord(
        instrument="Lantern Hall Practice Pipe", objectives=list(names), units=dict.fromkeys(names, "%"),
        thinned_to=dict.fromkeys(names, 1.0), feasible=feasible, layouts=entries,
    )  # fmt: skip


def run_folder(path, layouts, names=("tuning", "stretch"), **changes):
    """A run folder with these layouts as its front; its path."""
    for record in layouts:
        write_record(path / "layouts" / f"{record.id}.json", record)
    entries = [FrontEntry.of(record) for record in layouts]
    feasible = bool(layouts) and all(record.feasible for record in layouts)
    write_record(path / "pareto.json", front_of_entries(entries, names, feasible))
    values = fields(
        instrument="Lantern Hall Practice Pipe", project_file="pipe.toml", project_text="", seed=7, minutes=1.0,
        trials_wanted=None, workers=2, started="2026-11-02T10:00:00+00:00", finished=None, ended_by="time",
        trials_done=3, trials_failed=0, versions={"numpy": "2.0.1"}, host={"system": "Linux"}, cautions=[],
    )  # fmt: skip
    write_record(path / "run.json", RunRecord.model_validate(values | changes))
    return path


def without_bore(path):
    """Leave a layout's file a bore of a single point, which no record can be made with."""
    kept = json.loads(path.read_text(encoding="utf-8"))
    kept["bore"]["points_mm"] = kept["bore"]["points_mm"][:1]
    path.write_text(json.dumps(kept), encoding="utf-8")


def lined(record, number):
    """A record with one hole a vent under a key."""
    holes = list(record.holes)
    holes[number] = holes[number].model_copy(update={"role": "vent", "by": "key"})
    return record.model_copy(update={"holes": holes})


def with_crook(record):
    """A record with its first 20 mm a staple, 60 mm a crook, and its uppermost hole lined."""
    bore = record.bore.model_copy(update={"staple_end_mm": 20.0, "crook_end_mm": 60.0})
    return lined(record, 3).model_copy(update={"bore": bore})
