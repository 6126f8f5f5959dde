"""What can be asked of projects and layouts that are there: comparison, tolerance, prices, hands, reliefs, extension.

Use cases take plain values and return records; they solve anew where they must, and print nothing.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
