"""Objectives by name: what each figure means and its unit. Light, so that displays need no solver."""

UNITS = {
    "tuning": "cents",
    "worst_note": "cents",
    "reach": "%",
    "evenness": "%",
    "robustness": "cents",
    "plates": "holes",
}

ONLY_WHERE_SOUGHT = ("robustness", "plates")
"""Objectives whose figures stand only in layouts of a search for them."""

MEANING = {
    "tuning": "weighted root mean square of the notes' errors",
    "worst_note": "largest error of any main fingering",
    "reach": "root mean square finger strain: 0 comfortable, 100 at the working limit",
    "evenness": "root mean square bend of hole size and lattice cutoff along the scale",
    "robustness": "root mean square of what printing and drilling bring to the main notes, one standard deviation",
    "plates": "finger holes that took a plate where a bare finger was open to the search",
}


def or_dash(value: float | None, pattern: str) -> str:
    """A figure by its pattern, or a dash where there is none."""
    return "-" if value is None else format(value, pattern)


def counted(number: int, what: str) -> str:
    """A number with its noun, plural where it is not one: `1 vent`, `2 vents`."""
    return f"{number} {what}" + ("" if number == 1 else "s")
