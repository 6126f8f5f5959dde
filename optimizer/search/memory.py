"""What the driver remembers of the layouts on the front, for the sampler and for starts from a neighbour."""

from collections.abc import Container, Mapping
from typing import Any

from optimizer.project.model import Project
from optimizer.records.layout import LayoutRecord
from optimizer.records.saved import saved_numbers
from optimizer.search.pareto import REFERENCE
from optimizer.solving.member import Member


class Memory:
    """The front's members; a new list whenever it changes."""

    def __init__(self, project: Project) -> None:
        self.project = project
        self.members: list[Member] = []

    def note(self, record: LayoutRecord, params: Mapping[str, Any], front: Container[str]) -> None:
        """Remember a layout if it is on the front, and forget those that left it."""
        shares = tuple(record.objectives[name] / REFERENCE[name] for name in self.project.objective_names)
        member = Member(record.id, dict(params), shares, saved_numbers(record, self.project))
        self.members = [one for one in (*self.members, member) if one.id in front]
