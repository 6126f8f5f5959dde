"""Packages of the extra `cad`, which only the hand-off needs."""

import importlib
from types import ModuleType

from optimizer.project.faults import Fault


def needed(package: str) -> ModuleType:
    """A package of the extra `cad`.

    Parameters
    ----------
    package : its name

    Raises
    ------
    Fault
        where it is not installed: with the line that installs it
    """
    try:
        return importlib.import_module(package)
    except ImportError as error:
        raise Fault(
            f"{package} is not installed; install it with: python -m pip install 'holewright[cad]'",
            heading="a package is missing",
        ) from error
