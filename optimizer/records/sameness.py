"""Below which difference two layouts of a run are the same, as a run keeps it, and the widths of boxes it makes."""

from collections.abc import Iterable

from optimizer.project.objectives import OBJECTIVES, same_cents
from optimizer.records.files import Record


class Sameness(Record):
    """What makes two layouts of a run the same in tuning [cents].

    stated_cents : `same_tuning_cents` of the project's `[search]`, below which a solve lets tuning be
    doubt_cents : standard deviation of the difference of two layouts, both printed and played, by objective
    brought_cents : what each kind of deviation brings to a note, root mean square over the notes; these are a layout's
    own and do not cancel in a difference
    """

    stated_cents: float
    doubt_cents: dict[str, float]
    brought_cents: dict[str, float]

    @property
    def cents(self) -> dict[str, float]:
        """Below which difference layouts are the same, by objective [cents]: the larger of both."""
        stated = same_cents(self.stated_cents)
        return {name: max(value, self.doubt_cents.get(name, 0.0)) for name, value in stated.items()}


def widths(names: Iterable[str], sameness: Sameness | None) -> dict[str, float]:
    """Width of the front's boxes for each of the objectives, in its own unit: within one, layouts count as the same.

    Parameters
    ----------
    names : of the objectives, in the front's order
    sameness : of the run; None for older runs, whose fronts are as fine as the objectives' resolutions
    """
    wide = sameness.cents if sameness else {}
    return {name: max(OBJECTIVES[name].resolution, wide.get(name, 0.0)) for name in names}
