from .catalogue import ConstraintSet as ConstraintSet
from .catalogue import build_constraints as build_constraints
from .conflicts import verdict_on as verdict_on
from .feasibility import Room as Room
