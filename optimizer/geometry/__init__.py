"""A layout as numbers, the vector x that a solver moves, and all that can be measured of it in space.

Holes, touches, axles, joints and pieces in millimetres; from here a layout becomes the duct that `acoustics` knows.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
