"""Properties of fluids as CoolProp has them, kept in `reference/fluids.json`: the library takes seconds to load.

`benchmarks/long/test_acoustics_fluids.py` holds what is kept to the library itself.
"""

import json

from places import REFERENCE

KEPT = json.loads((REFERENCE / "fluids.json").read_text(encoding="utf-8"))["values"]
"""What was asked of the library, and its answer."""

ANSWERS = {tuple(asked): answer for asked, answer in KEPT}


def pure(*asked: str | float) -> float:
    """A property of a fluid, by CoolProp's PropsSI."""
    return ANSWERS[asked]


def humid(*asked: str | float) -> float:
    """A property of humid air, by CoolProp's HAPropsSI."""
    return ANSWERS[asked]


def computed(asked: list[str | float]) -> float:
    """The library itself, asked the same."""
    from CoolProp.CoolProp import HAPropsSI, PropsSI

    return float((HAPropsSI if asked[0] == "psi_w" else PropsSI)(*asked))
