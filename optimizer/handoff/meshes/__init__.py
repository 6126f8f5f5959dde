"""Pieces as meshes: for the slicer, each laid as it is printed and read back, and for a page to turn.

The mesh kernel makes closed bodies from the shapes, and their volume is held against arithmetic.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
