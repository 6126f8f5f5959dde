"""What a kernel was built from: a library whose formulas are no longer those of the tree is not used."""

import ast
import hashlib
from collections.abc import Iterable
from pathlib import Path

FORMULAS = (
    "air.py", "arrays.py", "bends.py", "bore.py", "chain.py", "dual_rules.py", "duals.py", "elements.py",
    "hole_rises.py", "interaction.py", "losses.py", "openings.py", "radiation.py", "reed.py", "toneholes.py",
    "kernel/__init__.py", "kernel/generate.py", "kernel/graph.py", "kernel/symbols.py",
)  # fmt: skip
"""Modules of `acoustics` that the elements are written from, and those that say how the kernel is given its numbers."""


def marks(package: Path) -> tuple[str, str]:
    """Two marks of the sources in the folder of `acoustics`: of every byte, and of what is left without comments."""
    return mark_of_bytes(package), mark_of_code(package)


def mark_of_bytes(package: Path) -> str:
    """A mark that any change of a source changes."""
    return _mark(path.read_bytes() for path in _sources(package))


def mark_of_code(package: Path) -> str:
    """A mark that comments and docstrings of the formulas leave alone."""
    return _mark(_code(path) if path.suffix == ".py" else path.read_bytes() for path in _sources(package))


def _sources(package: Path) -> list[Path]:
    written = [path for ending in ("*.c", "*.h") for path in (package / "kernel").glob(ending)]
    return [*(package / name for name in FORMULAS), *sorted(written)]


def _mark(texts: Iterable[bytes]) -> str:
    mark = hashlib.sha256()
    for text in texts:
        mark.update(hashlib.sha256(text).digest())
    return mark.hexdigest()[:32]


def _code(path: Path) -> bytes:
    tree = ast.parse(path.read_bytes())
    for node in ast.walk(tree):
        body = getattr(node, "body", None)
        if isinstance(body, list):
            node.body = [one for one in body if not _said(one)] or [ast.Pass()]  # type: ignore[attr-defined]
    return ast.dump(tree).encode()


def _said(node: ast.AST) -> bool:
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
