"""A project file of one's own from a few answers: families of fingerings, textbook positions, the file's text.

What it writes passes every check, and says of its numbers where they come from.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
