"""A layout as files that a maker opens: one folder of every kind, whole or not at all; a room below for each idea.

Everything is built from one plain description of each piece, `handoff/shapes/shape.py`; nothing here solves.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
