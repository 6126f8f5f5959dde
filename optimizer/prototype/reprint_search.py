"""Which one piece to print anew, found by drawing each anew under the fit, the others locked as they are.

What the fit says of the instrument goes into its project as offsets of the notes: what the piece itself had of it (its
bore, its holes' own deviations) goes with the old print, and comes again as the printer's scatter.
"""

import time
from typing import NamedTuple

import numpy as np

from acoustics.arrays import Floats
from optimizer.analysis.printed_pieces import with_locked
from optimizer.project.editing import with_tables
from optimizer.project.faults import Fault
from optimizer.project.loading import LoadedProject, parse_project
from optimizer.prototype.played_model import Played, played
from optimizer.records.calibration import CalibrationRecord
from optimizer.records.correction import Reprint
from optimizer.records.layout import LayoutRecord
from optimizer.solving.fitting import Fitting, solved_until

MOST_SOLVES = 40
"""So many solves of a piece at the most."""


class Drawn(NamedTuple):
    """A piece drawn anew, and the layout with it."""

    reprint: Reprint
    layout: LayoutRecord


def drawn_anew(
    record: LayoutRecord, fit: CalibrationRecord, loaded: LoadedProject, listed_cents: float, seconds: float
) -> Drawn:
    """The piece whose drawing anew brings the notes nearest.

    Parameters
    ----------
    record : the layout that was measured
    fit : what was found
    loaded : its project
    listed_cents : RMS of the main notes that the list of changes would bring [cents]
    seconds : for all pieces together [s]

    Raises
    ------
    Fault
        where no piece can be drawn anew with the others as they are
    """
    pieces = [number for number, piece in enumerate(record.pieces, start=1) if piece.holes]
    if len(record.pieces) < 2:
        raise Fault("the body is one piece: search its project anew, by what the fit taught")
    found, why = [], Fault("no piece has holes")
    begun = time.monotonic()
    for count, number in enumerate(pieces, start=1):
        try:
            found.append(_drawn(record, fit, loaded, listed_cents, number, begun + seconds * count / len(pieces)))
        except Fault as fault:
            why = fault
    if not found:
        raise why
    return min(found, key=lambda each: each.reprint.rms_cents)


def _drawn(
    record: LayoutRecord, fit: CalibrationRecord, loaded: LoadedProject, listed: float, number: int, deadline: float
) -> Drawn:
    model = played(record)
    own = _numbers_of(model, record, number)
    theta = {one.name: one.mean / one.prior_sd for one in fit.numbers if one.prior_sd}
    slopes = model.slopes(np.zeros(len(model.names)), model.layout.cents)
    fitted = {note.line: note.cents for note in fit.notes}
    heard = np.array([fitted[line] for line in model.lines]) - model.layout.cents
    its_own = np.array([theta.get(name, 0.0) for name in model.names])[own]
    offset = with_offsets(loaded, model, heard - slopes[:, own] @ its_own)
    kept = [other for other in range(1, len(record.pieces) + 1) if other != number]
    fitting = Fitting(with_locked(offset, record, kept))
    solves = solved_until(fitting.solve, deadline, MOST_SOLVES)
    layout = fitting.judged(solves, f"piece-{number}")
    main = model.layout.main
    scatter = float(np.sum(slopes[main][:, own] ** 2) / np.sum(main))
    cents = np.array([note.cents for note in layout.notes if note.cents is not None and not note.alternate])
    rms = float(np.sqrt(np.mean(cents**2) + scatter))
    words = f"{len(solves)} solves with the other pieces locked" + ("" if layout.feasible else ", its limits not kept")
    return Drawn(
        Reprint(piece=number, rms_cents=rms, gain_cents=listed - rms, words=words, searched=True), layout
    )  # fmt: skip


def _numbers_of(model: Played, record: LayoutRecord, number: int) -> np.ndarray:
    """Which numbers (P,) are those of a piece, and drawn again with a new print."""
    holes = record.pieces[number - 1].holes
    sizes = {f"{size} of {hole}" for size in ("diameter", "chimney", "position") for hole in holes}
    return np.array([name in sizes or name == f"bore of piece {number}" for name in model.names])


def with_offsets(loaded: LoadedProject, model: Played, off: Floats) -> LoadedProject:
    """The project with what an instrument lies off its layout taken off what it wants of its notes.

    Parameters
    ----------
    loaded : the project
    model : of the layout
    off : (N,) its notes [cents]

    Raises
    ------
    Fault
        where its text cannot be edited
    """
    offset = dict(loaded.project.scale.offset_cents)
    for note, cents, main in zip(model.layout.notes, off, model.layout.main, strict=True):
        if main:
            offset[note.written] = round(loaded.project.scale.offset_cents.get(note.written, 0.0) - float(cents), 3)
    text = with_tables(loaded.text, {"scale": _scale(loaded) | {"offset_cents": offset}}, "As the fit has the notes")
    if text is None:
        raise Fault("the project's text cannot be edited; write [scale] plainly")
    return parse_project(text, loaded.source)


def _scale(loaded: LoadedProject) -> dict[str, object]:
    return loaded.project.scale.model_dump(exclude_unset=True)
