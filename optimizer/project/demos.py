"""Demo projects by name: those of the tree, or those that an installed package brought along."""

from pathlib import Path

import optimizer
from optimizer.project.findings import Finding
from optimizer.project.loading import ProjectError


def demos_folder() -> Path:
    """The folder of demo projects, with hands and printers in folders beside them."""
    package = Path(optimizer.__file__ or "").parent
    packed = package / "demos"  # what pyproject.toml packs configs/ as
    return packed if packed.is_dir() else package.parent / "configs"


def demo_names() -> list[str]:
    """Names of the demo projects, such as `lantern-tenor`."""
    return sorted(path.stem for path in demos_folder().glob("*.toml"))


def demo_path(name: str) -> Path:
    """The project file of a demo.

    Raises
    ------
    ProjectError
        no demo has that name
    """
    if name not in demo_names():
        said = f"there is no demo {name!r}; there are: {', '.join(demo_names())}"
        raise ProjectError(name, [Finding("", said)])
    return demos_folder() / f"{name}.toml"
