"""Figures and counts in words, as every room writes them."""


def or_dash(value: float | None, pattern: str) -> str:
    """A figure by its pattern, or a dash where there is none."""
    return "-" if value is None else format(value, pattern)


def counted(number: int, what: str) -> str:
    """A number with its noun, plural where it is not one: `1 vent`, `2 vents`."""
    return f"{number} {what}" + ("" if number == 1 else "s")


def clock(seconds: float) -> str:
    """Minutes and seconds, such as 2:05; hours when there are any."""
    whole = max(0, round(seconds))
    hours, minutes = whole // 3600, whole // 60 % 60
    return f"{hours}:{minutes:02d}:{whole % 60:02d}" if hours else f"{minutes}:{whole % 60:02d}"
