"""Records as a reader sees them: tables for a terminal, pages that need no network, drawings in millimetres.

A view reads and never solves; every word of a project is escaped before it becomes part of a page.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
