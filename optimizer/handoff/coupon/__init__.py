"""A test coupon: a pipe, a sleeve and steps that are printed as an instrument's pieces are, and then gauged.

What the readings say of the printer is worked out in `prototype`.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
