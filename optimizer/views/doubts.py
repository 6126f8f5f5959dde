"""What a note's +- is and what it is made of, in words: one place for every table that shows it."""

from collections.abc import Sequence

from optimizer.records.shares import Share

DOUBT = "doubt +-"
"""Heading of a note's standard deviation."""

MEANING = (
    f"{DOUBT}: one standard deviation of the note's cents, over making and playing as [uncertainty] states it and over "
    "what the formulas may be wrong by; lip and breath are left out"
)
LEAST_PERCENT = 0.5


def shares_words(shares: Sequence[Share]) -> str:
    """What a doubt is made of, greatest first, those that round to nothing left out; empty where nothing is known."""
    return ", ".join(f"{share.name} {share.percent:.0f} %" for share in shares if share.percent >= LEAST_PERCENT)


def doubt_notes(shares: Sequence[Share] = ()) -> list[str]:
    """What stands below a table with doubts: what they are and, where it is known, what they are made of.

    Parameters
    ----------
    shares : of the main notes' variances; older layouts know none
    """
    made = shares_words(shares)
    return [MEANING, *([f"made of, by share of all main notes' variances: {made}"] if made else [])]
