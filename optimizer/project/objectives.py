"""Objectives: what each figure means, its unit, how finely it counts, when it is sought; the table of those sought."""

from collections.abc import Mapping
from typing import Any, NamedTuple

from pydantic import Field, model_validator

from optimizer.project.numbers import Section
from optimizer.words import amount

SILENT_CENTS = 150.0
"""A note without a resonance this near its pitch is silent, and counts as this far out of tune."""


class Objective(NamedTuple):
    """One objective; all are figures of 0 or more, the less the better.

    Attributes
    ----------
    name : as in a project's `[search.objectives]`
    unit : of its figures
    meaning : what they are
    resolution : layouts closer than this in every objective count as one [unit]
    reference : the box that the hypervolume measures reaches from the ideal, 0, to here [unit]
    sought : whether a project seeks it unless it says otherwise; None: where the search has the choice of it
    only_where_sought : whether figures stand only in layouts of a search for it
    better, worse : a difference in words, `{}` where its amount stands; default: so much less or more of the name
    whole : whether it counts things, so that figures are whole numbers
    """

    name: str
    unit: str
    meaning: str
    resolution: float
    reference: float
    sought: bool | None = True
    only_where_sought: bool = False
    better: str = ""
    worse: str = ""
    whole: bool = False

    def change(self, by: float) -> str:
        """A difference in words; by: this layout's figure less the other's [unit]."""
        words = self.worse if by > 0 else self.better
        otherwise = f"{{}} {self.unit} {'more' if by > 0 else 'less'} of {self.name.replace('_', ' ')}"
        return (words or otherwise).format(amount(by))

    @property
    def told(self) -> str:
        """What it means, and when it is sought if that is not always."""
        when = {True: "", False: "; off unless named", None: "; on by itself where the search has the choice"}
        return f"{self.meaning}{when[self.sought]}"


OBJECTIVES = {
    row.name: row
    for row in (
        Objective(
            "tuning",
            "cents",
            "weighted root mean square of the notes' errors",
            0.1,
            10.0,
            better="{} cents better in tune",
            worse="{} cents less in tune",
        ),
        Objective(
            "worst_note",
            "cents",
            "largest error of any main fingering",
            0.3,
            30.0,
            sought=False,
            better="worst note {} cents nearer",
            worse="worst note {} cents further off",
        ),
        Objective(
            "stretch",
            "%",
            "root mean square finger strain: 0 comfortable, 100 at the working limit",
            1.0,
            100.0,
            better="hands {} % less stretched",
            worse="hands {} % more stretched",
        ),
        Objective(
            "unevenness",
            "%",
            "largest step between open neighbours, of the wider hole; half where it widens toward the bell",
            0.5,
            100.0,
            better="holes {} % more even",
            worse="holes {} % less even",
        ),
        Objective(
            "robustness",
            "cents",
            "root mean square of what printing and drilling bring to the main notes, one standard deviation",
            0.1,
            10.0,
            sought=False,
            only_where_sought=True,
            better="notes {} cents surer to come out so",
            worse="notes {} cents less sure to come out so",
        ),
        Objective(
            "plates",
            "holes",
            "finger holes that took a plate where a bare finger was open to the search",
            1.0,
            11.0,
            sought=None,
            only_where_sought=True,
            whole=True,
        ),
        Objective(
            "joints",
            "joints",
            "joints of the body, each of which may leak and has to be fitted",
            1.0,
            13.0,
            sought=None,
            only_where_sought=True,
            whole=True,
        ),
    )
}
"""Every objective by its name, in the order in which they are shown."""

CALLED_NOW = {"reach": "stretch", "evenness": "unevenness"}
"""What objectives of older files are called now; unevenness is another figure than evenness was."""

WIDENING_COUNTS = 0.5
"""How much of a step counts that widens toward the bell; a slope that way is what makers want (common practice, no
source)."""

WORST_PER_RMS = 3.0
"""The worst of some thirty notes lies about so many times their root mean square away; resolutions and references of
both keep to it."""


def same_cents(tuning_cents: float) -> dict[str, float]:
    """Differences that count as none, by objective [cents], where so many do in tuning."""
    return {"tuning": tuning_cents, "worst_note": WORST_PER_RMS * tuning_cents}


UNITS = {name: row.unit for name, row in OBJECTIVES.items()}
MEANING = {name: row.meaning for name, row in OBJECTIVES.items()}
WHOLE = frozenset(name for name, row in OBJECTIVES.items() if row.whole)
ONLY_WHERE_SOUGHT = tuple(name for name, row in OBJECTIVES.items() if row.only_where_sought)


def _sought(name: str) -> Any:
    """Whether an objective is sought, as a field."""
    return Field(default=OBJECTIVES[name].sought, description=OBJECTIVES[name].meaning)


class Objectives(Section):
    """Which objectives span the Pareto set; at least two. plates, joints: on where the search has the choice, unless
    said."""

    tuning: bool = _sought("tuning")
    worst_note: bool = _sought("worst_note")
    stretch: bool = _sought("stretch")
    unevenness: bool = _sought("unevenness")
    robustness: bool = _sought("robustness")
    plates: bool | None = _sought("plates")
    joints: bool | None = _sought("joints")

    @model_validator(mode="after")
    def _at_least_two(self) -> "Objectives":
        if sum(wanted for name, wanted in self if OBJECTIVES[name].sought is not None) < 2:
            raise ValueError("at least two objectives must be true, or there is no trade-off to show")
        return self

    def names(self, chosen: Mapping[str, bool]) -> tuple[str, ...]:
        """Names of the objectives that are switched on here.

        Parameters
        ----------
        chosen : whether a search has the choice of what an objective counts, for those on by themselves
        """
        return tuple(name for name, wanted in self if (chosen[name] if wanted is None else wanted))
