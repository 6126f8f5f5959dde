"""Figures and counts in words, as every room writes them, and what a docstring says to people."""

import os
import re
from collections.abc import Sequence

STOPPED, INTERRUPTED = "stopped", 130
"""What a command that was interrupted says, and its exit code, as shells have it."""


def or_dash(value: float | None, pattern: str) -> str:
    """A figure by its pattern, or a dash where there is none."""
    return "-" if value is None else format(value, pattern)


def counted(number: int, what: str) -> str:
    """A number with its noun, plural where it is not one: `1 vent`, `2 vents`."""
    return f"{number} {what}" + ("" if number == 1 else "s")


def amount(value: float) -> str:
    """How much, without its sign: a decimal below 10, none above."""
    size = abs(value)
    return f"{size:.1f}" if size < 9.95 else f"{size:.0f}"


def listed(parts: Sequence[str]) -> str:
    """Words one after the other: `a`, `a and b`, `a, b and c`."""
    return " and ".join(part for part in (", ".join(parts[:-1]), *parts[-1:]) if part)


def clock(seconds: float) -> str:
    """Minutes and seconds, such as 2:05; hours when there are any."""
    whole = max(0, round(seconds))
    hours, minutes = whole // 3600, whole // 60 % 60
    return f"{hours}:{minutes:02d}:{whole % 60:02d}" if hours else f"{minutes}:{whole % 60:02d}"


def typed(path: object) -> str:
    """A path as it is typed in a terminal: in quotation marks where its letters ask for them."""
    text = str(path)
    if os.name == "nt":
        return f'"{text}"' if " " in text else text
    import shlex

    return shlex.quote(text)


def to_people(docstring: str | None) -> str:
    """What a docstring says to those who use a command or the service: all above its first numpydoc section."""
    return re.split(r"^[ \t]*(?:Parameters|Returns|Raises)\n[ \t]*-+$", docstring or "", flags=re.MULTILINE)[0].strip()


QUOTED_MOST = 120
"""Letters of a text that somebody wrote, where a sentence quotes it."""


def cut(text: str, most: int = QUOTED_MOST) -> str:
    """A text no longer than so many letters, with its length where it was longer."""
    return text if len(text) <= most else f"{text[: most - 1]}… ({len(text)} letters)"
