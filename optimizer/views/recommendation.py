"""What a run recommends, as a table and as sentences, for a terminal and a page alike. Reads records only."""

from collections.abc import Sequence

from rich.console import Console

from optimizer.analysis.recommendation import COUNTS, IN_TUNE, in_tune_words
from optimizer.records.recommendation import PickRecord, RecommendationRecord
from optimizer.views import objectives
from optimizer.views.table import Cell, Column, Table, tabled
from optimizer.views.terminal import show_lines, show_table

SETTLED_LATER = "to settle: what is left to CAD, each rod across a joint and each post of several rods by itself"


def show_recommendation(console: Console, found: RecommendationRecord, sought: Sequence[str], title: str) -> None:
    """The layouts to begin with, a sentence for each, and why a role is left out."""
    show_table(console, picks_table(found, sought, title))
    show_lines(console, [f"{pick.id}: {pick.sentence}" for pick in found.picks])
    show_lines(console, left_out_lines(found))


def picks_table(found: RecommendationRecord, sought: Sequence[str], title: str = "Recommended") -> Table:
    """The layouts to begin with by their roles, objectives, and what there is to make of them."""
    names = [name for name in objectives.shown(sought) if name not in COUNTS]
    columns: list[Column[PickRecord]] = [
        Column("layout", lambda pick: Cell(pick.id, target=pick.id)),
        Column("recommended as", roles_words),
        *objectives.columns(names, lambda pick: pick.objectives),
        Column("joints", lambda pick: pick.joints, "d"),
        Column("plates", lambda pick: pick.plates, "d"),
        Column("to settle", lambda pick: pick.to_settle, "d"),
    ]
    notes = [SETTLED_LATER] if any(pick.to_settle for pick in found.picks) else []
    return tabled(title, columns, found.picks, notes=notes)


def roles_words(pick: PickRecord) -> str:
    """The roles of a layout; in tune only where it is."""
    tuned = in_tune_words(pick.objectives.get("tuning", 0.0))
    return ", ".join(tuned if role == IN_TUNE else role for role in pick.roles)


def left_out_lines(found: RecommendationRecord) -> list[str]:
    """Roles that nothing fills, and why."""
    return [f"{role}: left out, as {why}" for role, why in found.left_out.items()]


def rule_lines(found: RecommendationRecord) -> list[str]:
    """How each role is decided."""
    return [f"{role}: {rule}" for role, rule in found.rules.items() if role not in found.left_out]


def none_words(found: RecommendationRecord) -> str:
    """Which differences count as none."""
    return f"differences below these count as none: {objectives.steps(found.same_within)}"
