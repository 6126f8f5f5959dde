"""Drawings in SVG: bodies with their holes and keys, fronts, notes, hands, recordings.

Each is made of records alone, to scale, and looks by the style of the page that it stands in.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
