"""Objectives: what each figure means, its unit, and how finely it counts."""

RESOLUTION = {"tuning": 0.1, "worst_note": 0.3, "reach": 1.0, "evenness": 0.5, "robustness": 0.1, "plates": 1.0}
"""Layouts closer than this in every objective count as one; units as in `objective_names.UNITS`."""
REFERENCE = {
    "tuning": 10.0,
    "worst_note": 30.0,
    "reach": 100.0,
    "evenness": 100.0,
    "robustness": 10.0,
    "plates": 11.0,
}
"""Reference point of the hypervolume, one unit box from the ideal 0; units as in `objective_names.UNITS`."""


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
