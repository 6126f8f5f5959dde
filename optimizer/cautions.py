"""Cautions shown with results: where the work can hurt someone. They defer to licensed practice and local rules."""

REACH = (
    "Reach limits are estimates. Stop if you feel pain, numbness or tingling. This is not medical advice; a teacher or "
    "hand therapist should check a child's set-up."
)
CHILD = (
    "Hand measurements are personal data, a child's need a guardian's consent. Small parts and straps are a hazard for "
    "small children; a heavy instrument needs a peg or harness."
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
GROWTH = "A child's hand grows: gauge it again before each print, and stay well inside the limits."

HEAVY_G = 400.0
"""What a young player's right thumb may carry alone for the length of a piece: common practice, no source."""

HANDS = (REACH, STRAIN, GROWTH)
MEASURING = (REACH, CHILD)
MAKING = (PRINTING, WORKING, MOUTH)
ALL = (*MEASURING, *MAKING)


def of_weight(mass_g: float) -> list[str]:
    """The caution of an instrument too heavy for a young player's thumb; none of a lighter one."""
    if mass_g <= HEAVY_G:
        return []
    return [
        f"At about {mass_g:.0f} g it is heavier than the {HEAVY_G:g} g that a young player's thumb may carry alone "
        "(common practice, no source): hang it from a harness or strap, or stand it on a peg. A teacher or hand "
        "therapist should see the player with it."
    ]
