"""Cautions shown with results: where the work can hurt someone. They defer to licensed practice and local rules."""

from collections.abc import Sequence

REACH = (
    "Reach limits are estimates. Stop if you feel pain, numbness or tingling, and see a teacher or hand therapist. "
    "This is not medical advice."
)
PERSONAL = "Hand measurements are personal data. A heavy instrument needs a peg or harness."
CHILD = (
    "A teacher or hand therapist should check a child's set-up; a child's measurements need a guardian's consent. "
    "Small parts and straps are a hazard for small children."
)
PRINTING = (
    "Printing gives off fine particles and vapours: ventilate, keep your distance, follow the maker's data sheet and "
    "local rules. Uncured resin can cause lasting allergy; do not put printed resin in the mouth."
)
WORKING = (
    "Drilling and sanding make dust, from fibre-filled plastics breathable fibres: wet-sand, wear a P2 or P3 mask and "
    "eye protection. Glues and sealers need ventilation."
)
MOUTH = "No bare leaded brass, lead solder or unsealed print where lips touch: use a food-safe crook end."

STRAIN = (
    "Spread and strained hands are associated with pain in players, and small hands meet it first. Comfortable is what "
    "lasts through practice; the working limit is for short moments; never design to the maximum."
)
GROWTH = (
    "A child's hand grows: gauge it again before each print, and stay well inside the limits; a teacher or hand "
    "therapist should check the set-up."
)

HEAVY_G = {"young": 400.0, "grown": 800.0}
"""What the right thumb of a young and of a grown player may carry alone for the length of a piece: common practice, no
source."""

MEASURING = (REACH, PERSONAL, CHILD)
MAKING = (PRINTING, WORKING, MOUTH)


def of_all(adult: bool) -> tuple[str, ...]:
    """Of a layout made for a hand; those of children are left out where it is known for a grown player's."""
    return (REACH, PERSONAL, *(() if adult else (CHILD,)), *MAKING)


def of_hands(adult: bool) -> tuple[str, ...]:
    """Where the reach of a hand is told."""
    return (REACH, STRAIN) if adult else (REACH, STRAIN, GROWTH)


def for_adult(said: Sequence[str]) -> bool:
    """Whether cautions that were given with a layout are those for a grown player's hand."""
    return PERSONAL in said and CHILD not in said


def of_weight(mass_g: float, adult: bool) -> list[str]:
    """The caution of an instrument too heavy for the player's thumb; none of a lighter one."""
    player = "grown" if adult else "young"
    if mass_g <= HEAVY_G[player]:
        return []
    return [
        f"At about {mass_g:.0f} g it is heavier than the {HEAVY_G[player]:g} g that a {player} player's thumb may "
        "carry alone (common practice, no source): hang it from a harness or strap, or stand it on a peg. A teacher or "
        "hand therapist should see the player with it."
    ]
