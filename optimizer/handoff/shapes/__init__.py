"""Pieces as shapes: plain numbers in each piece's own frame, drawn from a layout's record in the sizes of a state.

All that is written of pieces is made from these; what cannot be made is told here, and so are volumes and walls.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
