"""An instrument that is there: what its maker measured of it, what that says of reed, air, bore and holes.

Reads what was measured, fits the model to it, and says what to measure next.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
