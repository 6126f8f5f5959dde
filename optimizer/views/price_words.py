"""What a limit's price says, in words."""

from optimizer.analysis.multipliers import Limit, Price, Unit

DIFFERENT = 0.2
"""A multiplier and a re-solve that differ by a greater share are told."""

ENDS = {
    "diameter_mm": ("{0} at least {1} wider", "{0} at most {1} narrower"),
    "position_mm": ("{0} kept {1} further from the reed", "{0} kept {1} nearer the reed"),
    "chimney_mm": ("chimney of {0} at least {1} longer", "chimney of {0} at most {1} shorter"),
    "touch_offset_mm": ("touch of {0} kept {1} further from the reed", "touch of {0} kept {1} nearer the reed"),
    "end_mm": ("bell end {1} further out at least", "bell end {1} nearer at most"),
    "reed_volume_cm3": ("reed at least {1} larger", "reed at most {1} smaller"),
    "bore_scale": ("bore at least {1} wider", "bore at most {1} narrower"),
    "joint_mm": ("joint {0} kept {1} further from the reed", "joint {0} kept {1} nearer the reed"),
}
CONSTRAINTS = {
    "reach": "{0}: 1 mm less reach",
    "piece_long": "piece {0} at most 1 mm shorter",
    "piece_short": "piece {0} at least 1 mm longer",
    "web": "{0}: 1 mm more wall between",
    "cups": "{0}: cups 1 mm further apart",
    "joint": "joint and hole {0}: 1 mm more between",
    "seal": "{0}: a finger seals 1 mm less",
    "hand_gap": "{0}: hands 1 mm further apart",
    "finger_room": "{0}: 1 mm more room for fingers",
    "lever": "{0}: lever at most 1 mm shorter",
    "bell_margin": "{0}: 1 mm further from the bell end",
    "post": "post {0}: 1 mm more room",
}


def worded(limit: Limit) -> str:
    """What is asked of a layout when a limit is tightened by one unit."""
    kind, _, rest = limit.name.partition(".")
    if limit.side == "constraint":
        return CONSTRAINTS.get(kind, f"{kind} {{0}}: 1 mm more").format(rest)
    unit = limit.unit.name
    return ENDS[kind][limit.side == "high"].format(rest, unit if unit[0].isdigit() else f"1 {unit}")


def remark(price: Price) -> str:
    """What a re-solve says that the multiplier does not: another limit, no room, or another price."""
    for one in price.tried:
        unit = _amount(price.limit.unit, one.step)
        if not one.kept:
            return f"no room {unit} further"
        if one.came_in:
            verb = "takes" if len(one.came_in) == 1 else "take"
            return f"{', '.join(map(_named, one.came_in[:2]))} {verb} over within {unit}"
        if not one.still_binds:
            return f"binds no more within {unit}"
    if not price.tried:
        return "not re-solved"
    ratio = price.ratio
    return "differs: curved" if ratio is not None and abs(ratio - 1.0) > DIFFERENT else ""


def _named(name: str) -> str:
    """A limit's name in a sentence: ranges by what they are of."""
    kind, _, rest = name.partition(".")
    return f"{kind.rsplit('_', 1)[0].replace('_', ' ')} of {rest}" if kind in ENDS and rest else name


def _amount(unit: Unit, step: float) -> str:
    return f"{100.0 * step:g} %" if unit.own == "1" else f"{step:g} {unit.own}"
