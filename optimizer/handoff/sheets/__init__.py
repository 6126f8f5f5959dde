"""What is drawn flat at 1:1: half profiles, wrap templates, drilling sheets, keys.

A plan is drawn once, and goes into every format: DXF for CAD and cutters, pages to print, pictures of a page.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
