"""Compiled code, and the traces it came from, kept between runs in the user's cache folder.

There is one folder per kind of processor. A trace is found again by its function, the kinds of its arguments, a mark of
the project it was made for, and a mark of this program's own source: after any change everything is traced anew.
"""

import gc
import hashlib
import os
import platform
import shutil
import sys
import tempfile
import time
from contextlib import suppress
from importlib.metadata import version
from pathlib import Path

import jax
import numpy as np
from pydantic import BaseModel

import acoustics
import optimizer
from acoustics.staging import open_store

MOST_MAPPINGS = 25_000
KEPT_DAYS = 30.0
"""Traces of a version of this program are removed when none was added for so long."""


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
    """Let JAX keep what it compiles in `cache_folder`, and staged functions their traces beside it."""
    jax.config.update("jax_compilation_cache_dir", str(cache_folder()))  # type: ignore[no-untyped-call]
    jax.config.update("jax_persistent_cache_min_compile_time_secs", 0.0)  # type: ignore[no-untyped-call]
    folder = cache_folder() / "traces"
    _forget_old(folder)
    open_store(Traces(folder / f"{SOURCE_MARK}-{jax.default_backend()}"))


def _forget_old(folder: Path) -> None:
    """Remove the traces of versions of this program that nobody ran for `KEPT_DAYS`."""
    with suppress(OSError):
        for place in folder.iterdir():
            if time.time() - place.stat().st_mtime > KEPT_DAYS * 86400.0:
                shutil.rmtree(place, ignore_errors=True)


def make_room_for_code(most: int = MOST_MAPPINGS) -> None:
    """Let go of compiled code where a process holds more than `most` mappings of memory: a project takes thousands, a
    process may have some 65 000 (Linux, vm.max_map_count), and XLA ends it at the next. What is needed again is loaded
    again from `cache_folder`."""
    try:
        with open("/proc/self/maps", encoding="utf-8", errors="replace") as file:
            held = sum(1 for _ in file)
    except OSError:
        return
    if held > most:
        jax.clear_caches()  # type: ignore[no-untyped-call]
        gc.collect()


def mark_of(*parts: object) -> str:
    """A short mark of pydantic models and plain data, equal only where all of them are."""
    text = "\n".join(part.model_dump_json() if isinstance(part, BaseModel) else repr(part) for part in parts)
    return hashlib.sha256(text.encode()).hexdigest()[:24]


def _source_mark() -> str:
    """A mark of all this program's code and of what traces and compiles it."""
    mark = hashlib.sha256(f"{jax.__version__} {version('jaxlib')} {np.__version__} {sys.version}".encode())
    for package in (acoustics, optimizer):
        for path in sorted(Path(str(package.__file__)).parent.rglob("*.py")):
            mark.update(path.name.encode() + path.read_bytes())
    return mark.hexdigest()[:16]


SOURCE_MARK = _source_mark()
"""Taken as the program starts, so that it is the mark of the code that runs."""


class Traces:
    """A store of lowered functions in a folder; where it cannot be written to, nothing is kept."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def _place(self, name: str) -> Path:
        return self.folder / hashlib.sha256(name.encode()).hexdigest()[:40]

    def get(self, name: str) -> bytes | None:
        """What was put under a name, or None."""
        try:
            return self._place(name).read_bytes()
        except OSError:
            return None

    def put(self, name: str, lowered: bytes) -> None:
        """Keep something under a name; other processes see all of it or nothing."""
        with suppress(OSError):
            self.folder.mkdir(parents=True, exist_ok=True)
            number, own = tempfile.mkstemp(dir=self.folder)
            try:
                with os.fdopen(number, "wb") as file:
                    file.write(lowered)
                Path(own).replace(self._place(name))
            except OSError:
                Path(own).unlink(missing_ok=True)
