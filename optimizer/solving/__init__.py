"""From a project to one solved layout: residuals with exact slopes, constrained steps, real resonances, a record.

One project at a time, in this process or in a few; which projects and which emphases to solve is asked further up.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
