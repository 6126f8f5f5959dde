"""The instrument that is made: what is measured of it, taken in and held against what the model says.

Readers take what a maker writes or a rig gives, bounded and told line by line; use cases print nothing.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
