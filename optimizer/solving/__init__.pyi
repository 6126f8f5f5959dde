from .fitting import Fitting as Fitting
from .problem import Problem as Problem
from .refine import Emphasis as Emphasis
from .refine import Outcome as Outcome
from .starts import Starts as Starts
from .verify import predict as predict
