"""A layout as files that a maker opens: solids, meshes, sheets, lists.

Everything is built from one plain description of each piece, `handoff/shape.py`; nothing here solves or predicts.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
