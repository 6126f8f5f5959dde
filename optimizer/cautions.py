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

HANDS = (REACH, STRAIN, GROWTH)
MEASURING = (REACH, CHILD)
MAKING = (PRINTING, WORKING, MOUTH)
ALL = (*MEASURING, *MAKING)
