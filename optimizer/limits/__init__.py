"""What must hold of a layout: families of limits g <= 0 in millimetres, each with the sentence that explains it.

Whether a project leaves any room at all, and which limits cannot all be kept, is asked here, without sound.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
