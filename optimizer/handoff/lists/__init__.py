"""What a maker reads as rows: every figure of the pieces, parts with their sizes, and what to cut from which bar.

A table is data (`views/table.py`); here it becomes CSV.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
