"""Pieces as STEP files for CAD, with axes, discs and points for keywork.

The CAD kernel runs in a process of its own, and what it wrote is read back and held against the record.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
