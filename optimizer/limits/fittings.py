"""Limits of what is fastened to the body: strap ring, thumb rest, peg."""

from optimizer.geometry.fittings import fitting_table
from optimizer.limits.family import NO_FAMILY, Constraint, Family
from optimizer.project.model import Project


def fittings(project: Project) -> Family:
    """A zone for each fitting within its range, clear of all that stands on the body."""
    if not project.fittings:
        return NO_FAMILY
    items = [
        Constraint(
            f"fitting.{each.id}",
            f"{each.id} has a zone of {each.length_mm:g} x {each.width_mm:g} mm {_where(*each.position_mm)}, "
            f"{each.clear_mm:g} mm clear of every seat, cup, finger, post, rod and joint",
        )
        for each in project.fittings
    ]
    return items, fitting_table(project).lacks


def _where(low: float, high: float) -> str:
    return f"at {low:g} mm" if low == high else f"between {low:g} and {high:g} mm"
