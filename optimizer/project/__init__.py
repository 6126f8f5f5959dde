"""What a maker wrote: project, hand and printer files, read into models with every problem at once and in sentences.

Chart and scale become openness and target frequencies here. Pure of geometry: nothing in this room places a hole.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
