"""Setuptools' build backend, which asks for a C compiler from the package index where the machine has none."""

from typing import Any

from setuptools import build_meta
from setuptools.build_meta import (
    build_editable,
    build_sdist,
    build_wheel,
    get_requires_for_build_sdist,
    prepare_metadata_for_build_editable,
    prepare_metadata_for_build_wheel,
)

from acoustics.kernel.build import compiler, left_out

__all__ = [
    "build_editable", "build_sdist", "build_wheel", "get_requires_for_build_editable", "get_requires_for_build_sdist",
    "get_requires_for_build_wheel", "prepare_metadata_for_build_editable", "prepare_metadata_for_build_wheel",
]  # fmt: skip

COMPILER = "ziglang>=0.13"


def _compiler() -> list[str]:
    return [] if compiler() or left_out() else [COMPILER]


def get_requires_for_build_wheel(config_settings: Any = None) -> list[str]:
    """What a wheel needs to be built."""
    return [*build_meta.get_requires_for_build_wheel(config_settings), *_compiler()]


def get_requires_for_build_editable(config_settings: Any = None) -> list[str]:
    """What an editable installation needs to be built."""
    return [*build_meta.get_requires_for_build_editable(config_settings), *_compiler()]
