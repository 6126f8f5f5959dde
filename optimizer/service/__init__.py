"""Runs over HTTP: an API and a page over the same run folders that the command line writes.

What it knows is in those folders, so it may be killed at any moment; `README.md` beside this file tells how to run it.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
