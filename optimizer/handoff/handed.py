"""What is handed over, as every kind of file takes it."""

from collections.abc import Mapping
from dataclasses import dataclass

from optimizer.handoff.shapes.shape import Drawing
from optimizer.records.layout import LayoutRecord
from optimizer.records.tolerance import HoleAdvice


@dataclass(frozen=True)
class Handed:
    """What is handed over: the layout, finished and as it comes from the printer; its pieces in finished sizes and in
    those of the state wanted; how to ream, by hole."""

    record: LayoutRecord
    printed: LayoutRecord
    finished: Drawing
    drawing: Drawing
    advice: Mapping[str, HoleAdvice]
