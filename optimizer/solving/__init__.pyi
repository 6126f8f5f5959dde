from .fitting import Fitting as Fitting
from .linearised import Emphasis as Emphasis
from .problem import Problem as Problem
from .real_resonances import predict as predict
from .refine import Outcome as Outcome
from .starts import Starts as Starts
