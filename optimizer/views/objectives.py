"""Objectives as columns and words, for tables, drawings and lines alike."""

from collections.abc import Callable, Iterable, Mapping, Sequence

from optimizer.project.objectives import MEANING, ONLY_WHERE_SOUGHT, SILENT_CENTS, UNITS, WHOLE
from optimizer.records.layout import LayoutRecord
from optimizer.records.sameness import Sameness
from optimizer.records.steps import largest_step
from optimizer.views.table import Column, Item
from optimizer.words import counted


def ordered(names: Iterable[str]) -> list[str]:
    """Those of the objectives, in their own order."""
    given = set(names)
    return [name for name in UNITS if name in given]


def shown(sought: Iterable[str]) -> list[str]:
    """Objectives worth a figure in what was searched for these: all but those that only a search for them gives."""
    return ordered({*sought, *(name for name in UNITS if name not in ONLY_WHERE_SOUGHT)})


def worth_comparing(layouts: Sequence[Mapping[str, float]]) -> list[str]:
    """Objectives of any of the layouts; those that only a search for them gives, where any is more than 0."""
    return [
        name
        for name in UNITS
        if any(values.get(name, 0.0) > 0 or (name in values and name not in ONLY_WHERE_SOUGHT) for values in layouts)
    ]


def of_one(values: Mapping[str, float]) -> dict[str, float]:
    """Values worth a figure of one layout: of those that only a search for them gives, what is more than 0."""
    return {name: value for name, value in values.items() if value > 0 or name not in ONLY_WHERE_SOUGHT}


def in_words(name: str) -> str:
    """An objective's name as words."""
    return name.replace("_", " ")


def unit(name: str) -> str:
    """An objective's unit; empty for one that this version does not know."""
    return UNITS.get(name, "")


def heading(name: str) -> str:
    """An objective's name with its unit; of what is counted the name says both."""
    return in_words(name) if name in WHOLE else f"{in_words(name)}, {unit(name)}"


def pattern(name: str) -> str:
    """How an objective's figures are written."""
    return ".0f" if name in WHOLE else ".2f"


def figure(name: str, value: float | None) -> float | str | None:
    """An objective's value, or that a note is silent where that is what the worst one is."""
    return "silent" if name == "worst_note" and value is not None and value >= SILENT_CENTS else value


def figures(values: Mapping[str, float], between: str) -> str:
    """Values with name and unit in one line."""
    return between.join(
        _things(name, value) if name in WHOLE else _sized(name, value) for name, value in values.items()
    )


def _sized(name: str, value: float) -> str:
    """A figure with name and unit."""
    told = figure(name, value)
    return f"{name} {told}" if isinstance(told, str) else f"{name} {value:.2f} {unit(name)}".rstrip()


def _things(name: str, value: float) -> str:
    """How many of what an objective counts, which is called by its name."""
    return counted(round(value), name.removesuffix("s"))


def steps(widths: Mapping[str, float]) -> str:
    """Widths of objectives in one line."""
    return ", ".join(
        _things(name, width) if name in WHOLE else f"{in_words(name)} {width:g} {unit(name)}".rstrip()
        for name, width in widths.items()
    )


def step_words(record: LayoutRecord) -> str:
    """Where a layout's unevenness lies: between which two holes, and by how much; empty where no two are neighbours."""
    step = largest_step(record.holes, record.notes)
    if step is None:
        return ""
    how = "narrower toward the bell" if step.narrows else "wider toward the bell, which counts half"
    said = f"{step.from_hole} {step.from_mm:.2f} mm to {step.to_hole} {step.to_mm:.2f} mm, {step.percent:.0f} % {how}"
    return f"largest step between open neighbours: {said}"


def same_words(sameness: Sameness | None) -> str:
    """Below which difference in tuning two layouts of a run are the same, and why; empty where nothing tells."""
    if sameness is None or not (cents := sameness.cents["tuning"]):
        return ""
    doubt, brought = (
        sameness.doubt_cents["tuning"],
        [f"{word}s {by:.1f}" for word, by in sameness.brought_cents.items()],
    )
    by_print = doubt >= cents
    apart = "as much" if by_print else f"{doubt:.1f} cents"
    prints = f"two prints of one layout differ by {apart} (one standard deviation), as no hole comes out just as drawn"
    stated = "" if by_print else " by the project's same_tuning_cents"
    return (
        f"two layouts less than {cents:.1f} cents apart in tuning are the same{stated}: {prints}; "
        f"what that brings to a note, in cents: {', '.join(brought)}"
    )


def same_line(widths: Mapping[str, float], sameness: Sameness | None) -> str:
    """Which differences count as none, and why in tuning, in one line."""
    why = same_words(sameness)
    best = in_words(next(iter(widths)))
    said = f"differences below these count as none, and a front holds one layout for each, besides the best in {best}"
    said = f"{said}: {steps(widths)}"
    return f"{said}; {why}" if why else said


def meanings(names: Sequence[str]) -> list[str]:
    """What each objective's figure means."""
    return [f"{name}: {MEANING[name]}" for name in names]


def box(reference: Mapping[str, float]) -> str:
    """Corner of the box that a hypervolume is a share of."""
    return ", ".join(
        _things(name, value) if name in WHOLE else f"{value:g} {unit(name)} {in_words(name)}"
        for name, value in reference.items()
    )


def columns(names: Iterable[str], values: Callable[[Item], Mapping[str, float]]) -> list[Column[Item]]:
    """A column for each objective; values: an item's objectives."""

    def column(name: str) -> Column[Item]:
        return Column(
            name, lambda item: figure(name, values(item).get(name)), pattern(name), "" if name in WHOLE else unit(name)
        )

    return [column(name) for name in names]
