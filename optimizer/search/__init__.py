"""Many solves toward a front: what to try next, who solves it, and a run folder that survives any end.

Optuna proposes, a pool of workers solves, the driver tells and writes.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
