"""Compiled code kept between runs, in the user's cache folder, one folder per kind of processor."""

import hashlib
import os
import platform
from pathlib import Path

import jax


def cache_folder() -> Path:
    """Where compiled code is kept: JAX_COMPILATION_CACHE_DIR, or holewright/ in the user's cache folder."""
    chosen = os.environ.get("JAX_COMPILATION_CACHE_DIR")
    if chosen:
        return Path(chosen)
    home = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return home / "holewright" / f"{platform.machine()}-{_processor()}"


def _processor() -> str:
    """Short mark of the processor's abilities: code compiled for one may not run on another."""
    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
        abilities = next((line for line in lines if line.startswith(("flags", "Features"))), "")
    except OSError:
        abilities = platform.processor()
    return hashlib.sha256(abilities.encode()).hexdigest()[:8]


def keep_compiled_code() -> None:
    """Let JAX keep what it compiles in `cache_folder`."""
    jax.config.update("jax_compilation_cache_dir", str(cache_folder()))  # type: ignore[no-untyped-call]
    jax.config.update("jax_persistent_cache_min_compile_time_secs", 0.0)  # type: ignore[no-untyped-call]
