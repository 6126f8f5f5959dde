"""What a run folder holds: every file as a model with a JSON Schema, and the only reader and writer of them.

Finished figures in millimetres and cents. Records know nothing of how they were found.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
