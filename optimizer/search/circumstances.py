"""What a result may depend on besides its project: versions of packages, and the machine."""

import os
import platform
import sys
from collections.abc import Sequence
from importlib import metadata

PACKAGES = ("holewright", "moocore", "numpy", "optuna", "piqp", "pydantic", "ray", "scipy")


def versions(packages: Sequence[str] = PACKAGES) -> dict[str, str]:
    """Versions of Python and of the packages that a result depends on."""
    found = {"python": platform.python_version()}
    for name in packages:
        try:
            found[name] = metadata.version(name)
        except metadata.PackageNotFoundError:
            found[name] = "not installed"
    return found


def this_host() -> dict[str, str | int]:
    """What a result may depend on of the machine."""
    return {
        "system": platform.system(),
        "machine": platform.machine(),
        "cores": os.cpu_count() or 1,
        "byte_order": sys.byteorder,
    }
