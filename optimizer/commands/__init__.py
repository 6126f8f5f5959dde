"""The command line: words in, exit code out. Each command calls one use case below and shows what it returns.

Heavy modules load only when a command needs them.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
