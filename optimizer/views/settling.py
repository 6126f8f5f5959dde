"""What is left to settle of a layout, with what holds for several keys said once."""

import re
from collections.abc import Sequence

from optimizer.words import listed

OF_A_ROD = re.compile(r"the (?:axle|rod) of (\S+) (crosses|runs) (.+?): (part it|lead it) (.+)")
TOGETHER = {"crosses": "cross", "runs": "run", "part it": "part each", "lead it": "lead each"}


def settling_lines(matters: Sequence[str]) -> list[str]:
    """The matters, those that differ by nothing but the key whose rod it is as one."""
    alike: dict[tuple[str, ...], list[str]] = {}
    for matter in matters:
        found = OF_A_ROD.fullmatch(matter)
        alike.setdefault(found.groups()[1:] if found else (matter,), []).append(found[1] if found else "")
    return [_line(said, keys) for said, keys in alike.items()]


def _line(said: tuple[str, ...], keys: Sequence[str]) -> str:
    if len(said) == 1:
        return said[0]
    does, where, advice, how = said
    if len(keys) == 1:
        return f"the rod of {keys[0]} {does} {where}: {advice} {how}"
    how = re.sub(r"\bor it holds\b", "or they hold", how)
    return f"the rods of {listed(keys)} {TOGETHER[does]} {where}: {TOGETHER[advice]} {how}"
