from .fitting import Fitting as Fitting
from .problem import Problem as Problem
from .real_resonances import predict as predict
from .refine import Emphasis as Emphasis
from .refine import Outcome as Outcome
from .starts import Starts as Starts
