from .drawing import drawn as drawn
from .drawing import sizing_of as sizing_of
from .handing_over import hand_off as hand_off
from .kinds import Handed as Handed
from .kinds import Kind as Kind
from .shape import Drawing as Drawing
from .shape import Piece as Piece
