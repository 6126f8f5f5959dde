from .drawing import drawn as drawn
from .drawing import sizing_of as sizing_of
from .shape import Drawing as Drawing
from .shape import Piece as Piece
