from .answers import Answers as Answers
from .written import begun as begun
