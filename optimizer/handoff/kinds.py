"""The kinds of files that a hand-off holds, each in a folder of its name: what it is, what it needs, who writes it."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import NamedTuple

from optimizer.handoff.handed import Handed
from optimizer.handoff.step.kernel_process import kernel_lacking
from optimizer.handoff.writers import (
    write_drilling,
    write_keys,
    write_lists,
    write_meshes,
    write_profiles,
    write_steps,
    write_tables,
    write_templates,
)
from optimizer.records.handoff import PieceCheck

Writer = Callable[[Handed, Path], list[PieceCheck]]
"""Writes one kind into a folder that is there, and says what it held its files against."""


class Kind(NamedTuple):
    """A kind of files: what it is, who writes it; what says which package is to be installed for it, and nothing where
    it is."""

    told: str
    write: Writer
    lacks: Callable[[], str] = str

    @property
    def lacking(self) -> str:
        """What to do for the package that is not installed; empty where nothing is lacking."""
        return self.lacks()


KINDS: Mapping[str, Kind] = {
    "tables": Kind(
        "every figure of every piece, CSV with units in the heads; parameters: all by name, for parametric CAD",
        write_tables,
    ),
    "lists": Kind("parts, and what to cut from which bar, CSV and a page to print", write_lists),
    "profiles": Kind(
        "half profile of each piece at 1:1, of one with bends tube by tube and bend by bend, DXF and PDF",
        write_profiles,
    ),
    "templates": Kind("paper to wrap round each piece at 1:1, with its holes to punch, DXF and PDF", write_templates),
    "drilling": Kind(
        "from the bell up, what to do to each hole, and where the tuner is to stop, CSV and PDF", write_drilling
    ),
    "keys": Kind(
        "keys laid flat at 1:1; of a folded body tube by tube, with levers from tube to tube cut across, DXF and PDF",
        write_keys,
    ),
    "meshes": Kind("each piece for the slicer as it is to be printed, STL and 3MF", write_meshes),
    "step": Kind(
        "for CAD: each piece, finished and in the states wanted, and all of them together with keywork's axes, STEP",
        write_steps,
        kernel_lacking,
    ),
}
"""Every kind by its name, in the order in which they are written."""
