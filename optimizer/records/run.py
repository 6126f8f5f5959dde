"""Files of a run folder beside the layouts: the run itself, its front, and how far it is."""

import re
from collections.abc import Iterable, Mapping
from typing import Any, Literal, Self, TypeAlias

from pydantic import Field, model_validator

from optimizer.records.files import SCHEMA_VERSION, Beside, Record, RecordError
from optimizer.records.layout import LayoutRecord
from optimizer.records.layout_ids import PRESENT
from optimizer.records.older import (
    OTHER_FIGURE,
    before_venting_and_joints,
    figures_now,
    named_now,
    text_as_sought,
    text_now,
)
from optimizer.records.sameness import Sameness
from optimizer.records.verdict import LayoutVerdict
from optimizer.words import cut

LAYOUT_FILE = re.compile(r"layouts/[A-Za-z0-9][A-Za-z0-9_-]*\.json")

PoolKind: TypeAlias = Literal["local", "ray"]
"""Who solves a search's trials: processes of this machine, or Ray's."""


class FrontEntry(Record):
    """One layout of a front: file, objectives, notes that do not sound as wanted, largest violation.

    joints, plates, to_settle, finger_pairs : how many of each it has; null in files older than 2.1
    """

    id: str
    file: str
    objectives: dict[str, float]
    wrong_notes: int
    violation_mm: float
    binds: list[str]
    joints: int | None = None
    plates: int | None = None
    to_settle: int | None = None
    finger_pairs: int | None = None

    @classmethod
    def of(cls, record: LayoutRecord | LayoutVerdict) -> Self:
        """A layout's line."""
        return cls(
            id=record.id,
            file=f"layouts/{record.id}.json",
            objectives=record.objectives,
            wrong_notes=record.wrong_notes,
            violation_mm=record.violation_mm,
            binds=[binding.name for binding in record.binds],
            **counts(record),
        )

    @model_validator(mode="after")
    def _file_lies_beside(self) -> Self:
        if not LAYOUT_FILE.fullmatch(self.file):
            raise ValueError(f"{cut(self.file)} is no file of its run folder's layouts")
        return self

    def counted(self, beside: Beside) -> Self:
        """With how many joints and the like it has, from its layout's file; without where that cannot be read."""
        if self.joints is not None:
            return self
        try:
            return self.model_copy(update=counts(beside(self.file, LayoutRecord)))
        except RecordError:
            return self

    def brought_up(self, beside: Beside) -> Self:
        """With its unevenness and counts from its layout's file; without them where that cannot be read."""
        try:
            found = beside(self.file, LayoutRecord)
        except RecordError:
            return self.model_copy(update={"objectives": figures_now(self.objectives)})
        return self.model_copy(update={"objectives": found.objectives, **counts(found)})


def in_the_way(record: LayoutRecord | LayoutVerdict) -> set[str]:
    """Names of the limits that a layout breaks, and of its notes that do not sound as wanted."""
    notes = {binding.name for binding in record.binds if binding.name.startswith("note.")}
    return notes | {name for name, margin in record.margins_mm.items() if margin < 0.0}


def counts(record: LayoutRecord | LayoutVerdict) -> dict[str, int]:
    """What there is to make of a layout, and how many pairs of fingers lie on its holes."""
    return {
        "joints": max(0, len(record.pieces) - 1),
        "plates": sum(hole.cover == "plate" for hole in record.holes),
        "to_settle": len(record.to_settle),
        "finger_pairs": len(record.reach),
    }


def _named(what: str, given: Mapping[str, float | str], wanted: Iterable[str]) -> None:
    """Raise ValueError where an objective is without its figure."""
    missing = [cut(name) for name in wanted if name not in given]
    if missing:
        raise ValueError(f"{what} says nothing of the objective {missing[0]!r}")


class FrontRecord(Record):
    """The Pareto set of a run. When nothing is feasible, `layouts` holds the least violating layout alone.

    sought_otherwise : one of an older file, whose search followed another figure than unevenness; some of its layouts
    may be beaten by others
    """

    schema_name: Literal["holewright-front"] = "holewright-front"
    schema_version: str = SCHEMA_VERSION
    instrument: str
    objectives: list[str]
    units: dict[str, str]
    thinned_to: dict[str, float]
    feasible: bool
    layouts: list[FrontEntry]
    sought_otherwise: bool = False

    @model_validator(mode="after")
    def _agrees_with_itself(self) -> Self:
        for what, given in (("units", self.units), ("thinned_to", self.thinned_to)):
            _named(what, given, self.objectives)
        for entry in self.layouts:
            _named(f"layout {cut(entry.id)}", entry.objectives, ["tuning", *self.objectives])
        if self.feasible and not self.layouts:
            raise ValueError("it calls itself feasible and has no layout")
        if len({entry.id for entry in self.layouts}) < len(self.layouts):
            raise ValueError("a layout stands twice in it")
        return self

    def brought_up(self, beside: Beside) -> Self:
        """By the names of now; without unevenness among the objectives where not every layout can be read."""
        entries = [entry.brought_up(beside) for entry in self.layouts]
        figured = all("unevenness" in entry.objectives for entry in entries)
        names = [name for name in named_now(self.objectives) if figured or name != "unevenness"]
        said = {
            "objectives": names,
            "units": dict(zip(named_now(self.units), self.units.values(), strict=True)),
            "thinned_to": dict(zip(named_now(self.thinned_to), self.thinned_to.values(), strict=True)),
            "layouts": entries,
            "sought_otherwise": OTHER_FIGURE in self.objectives,
        }
        return self.model_copy(update={**said, "schema_version": SCHEMA_VERSION})

    def counted(self, beside: Beside) -> Self:
        """With how many joints and the like each layout has, from its file where an older front does not say."""
        return self.model_copy(update={"layouts": [entry.counted(beside) for entry in self.layouts]})

    @property
    def made(self) -> bool:
        """Whether it holds an instrument that is made, not what a search found."""
        return [entry.id for entry in self.layouts] == [PRESENT]

    def better_than(self, objectives: Mapping[str, float]) -> list[str]:
        """Ids of its layouts that are at least as good in every one of its objectives, and better in one."""
        found = []
        for entry in self.layouts:
            gains = [objectives[name] - entry.objectives[name] for name in self.objectives if name in objectives]
            if gains and min(gains) >= 0.0 and max(gains) > 0.0:
                found.append(entry.id)
        return found

    @property
    def best_tuned(self) -> FrontEntry:
        """The layout nearest in tune; there must be one."""
        return min(self.layouts, key=lambda entry: entry.objectives["tuning"])


class RunRecord(Record):
    """What ran: enough to run it again, or on. minutes and trials_wanted are those of the last start.

    started, finished and resumed are times of day; versions are those of the last start. storage is the URL, without
    its password, of the database that holds the run's study; null when that is the journal in the folder. workers is
    how many there were when this was written; pool says which in the last start, "local" processes of one machine or
    Ray's, null before there was one and in files of versions that knew Ray alone. acoustics is what worked the
    charts out where the search was started: "numpy", or the compiled kernel with its variant, as in "kernel-avx2"; null
    in files of versions that had neither. sameness is below which difference its layouts are the same, found at its
    first start and kept; null before, and in files of versions before 2.1, whose fronts stay as fine as they were.
    broken tells of trials that did not keep everything, broken_of in all: how many broke a limit, or left a note
    (`note.D5`) that does not sound as wanted, from the name that most did; files written before broken_of have five at
    the most.
    """

    schema_name: Literal["holewright-run"] = "holewright-run"
    schema_version: str = SCHEMA_VERSION
    instrument: str
    project_file: str
    project_text: str
    seed: int
    minutes: float | None
    trials_wanted: int | None
    workers: int
    started: str
    finished: str | None
    ended_by: str | None
    trials_done: int
    trials_failed: int
    versions: dict[str, str]
    host: dict[str, str | int]
    cautions: list[str]
    resumed: list[str] = Field(default_factory=list)
    storage: str | None = None
    study: str | None = None
    pool: PoolKind | None = None
    acoustics: str | None = None
    sameness: Sameness | None = None
    broken: dict[str, int] = Field(default_factory=dict)
    broken_of: int | None = None

    @property
    def looked_at(self) -> int:
        """How many trials `broken` tells of; all of them in a file that does not say."""
        return self.trials_done if self.broken_of is None else self.broken_of

    @model_validator(mode="before")
    @classmethod
    def _seeks_what_it_sought(cls, data: Any) -> Any:
        """A run from before venting was asked for and joints counted goes on without."""
        if isinstance(data, dict) and before_venting_and_joints(data.get("schema_version")):
            text = data.get("project_text")
            return {**data, "project_text": text_as_sought(text)} if isinstance(text, str) else data
        return data

    @property
    def end(self) -> str | None:
        """The end it came to, as a word that its other ends do not have, however clocks are set; None while there is
        none."""
        return None if self.finished is None else f"{len(self.resumed)} {self.finished}"

    def brought_up(self, beside: Beside) -> Self:
        """With its project's objectives by the names of now."""
        return self.model_copy(update={"project_text": text_now(self.project_text), "schema_version": SCHEMA_VERSION})


class ProgressRecord(Record):
    """How far a run is, written anew every few seconds; for programs that follow it.

    trials_done and trials_failed count all starts of the run, elapsed_seconds and trials_per_second this one.
    hypervolume is the share of the box below the reference point that the front dominates; seconds_left is the
    time to the first limit, null while nothing tells; best holds each objective's best on the front.
    """

    schema_name: Literal["holewright-progress"] = "holewright-progress"
    schema_version: str = SCHEMA_VERSION
    state: Literal["running", "ended"]
    ended_by: str | None
    process: int
    host: str
    written: str
    elapsed_seconds: float
    seconds_left: float | None
    trials_done: int
    trials_failed: int
    trials_per_second: float
    workers: int
    layouts: int
    best: dict[str, float]
    hypervolume: float
    reference_point: dict[str, float]

    def brought_up(self, beside: Beside) -> Self:
        """By the names of now, without a best evenness and a hypervolume that it took part in: that is 0."""
        volume = 0.0 if OTHER_FIGURE in self.reference_point else self.hypervolume
        figures = {"best": figures_now(self.best), "reference_point": figures_now(self.reference_point)}
        return self.model_copy(update={**figures, "hypervolume": volume, "schema_version": SCHEMA_VERSION})
