"""The compiled kernel: whole charts on batches of ducts, in C, for the processor at hand; `charts` is the reference.

`chart.h` holds the network, `elements.h` the elements, written by `generate` from the formulas of this package when the
kernel is built. It may be absent: then `at_hand` says so, and NumPy does the work.

Each note is a lane: two lanes anywhere, four with AVX2, eight with AVX-512, picked when the library is loaded.
Elimination does not pivot; each note tells its least pivot, and what is doubtful is worked out in NumPy again.
"""

import ctypes
import os
import sysconfig
import threading
import warnings
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from acoustics.arrays import Complexes, Floats
from acoustics.chain import Chain
from acoustics.chart_elements import Notes
from acoustics.charts import Found
from acoustics.kernel.origin import mark_of_bytes, mark_of_code

LEAST_PIVOT = 1e-8
"""Elimination without pivoting is trusted down to this square of a pivot over the largest entry below it."""

SWITCH = "HOLEWRIGHT_KERNEL"
"""Environment variable: `off` leaves the kernel out, a variant's name picks that one."""


class _Chart(ctypes.Structure):
    """`Chart` of kernel.h."""

    _fields_ = [
        *((name, ctypes.c_int32) for name in ("notes", "padded", "holes", "levels", "nodes")),
        *((name, ctypes.c_void_p) for name in ("level", "which", "used", "node", "f", "weight", "station")),
    ]


@cache
def _library() -> ctypes.CDLL | None:
    """The compiled library beside this file, where it was built, from these very formulas."""
    folder = Path(__file__).parent
    mine = sysconfig.get_config_var("EXT_SUFFIX") or ""
    for place in sorted(folder.glob("_kernel*"), key=lambda path: not path.name.endswith(mine)):
        if place.suffix not in (".so", ".pyd", ".dll", ".dylib"):
            continue
        try:
            library = ctypes.CDLL(str(place))
        except OSError:  # built for another machine
            continue
        if _of_these_sources(library, folder.parent):
            return library
        warnings.warn(f"{place.name} was built from other formulas and is left out; install again", stacklevel=2)
    return None


def _of_these_sources(library: ctypes.CDLL, package: Path) -> bool:
    try:
        library.kernel_built_from.restype = ctypes.c_char_p
        by_bytes, by_code = library.kernel_built_from().decode().split()
    except AttributeError:  # built before libraries told
        return False
    return bool(by_bytes == mark_of_bytes(package) or by_code == mark_of_code(package))


@cache
def variants() -> tuple[str, ...]:
    """Variants of the kernel that this processor runs, best last; none where it was not built."""
    library = _library()
    found = 0 if library is None else int(library.kernel_variants())
    return tuple(name for bit, name in enumerate(("plain", "avx2", "avx512")) if found >> bit & 1)


def at_hand() -> str | None:
    """The variant in use; None where NumPy does the work.

    Raises
    ------
    ValueError
        when the environment names a variant that there is none of here
    """
    wanted, known = os.environ.get(SWITCH, ""), variants()
    if wanted == "off" or not (wanted or known):
        return None
    if wanted and wanted not in known:
        raise ValueError(f"{SWITCH} names {wanted!r}; there is here: {', '.join(('off', *known))}")
    return wanted or known[-1]


def _function(name: str, variant: str, result: Any) -> Any:
    found = getattr(_library(), f"{name}_{variant}")
    found.restype = result
    return found


class Prepared:
    """A chart laid out for a variant, for one thread: the arrays that the kernel reads and, of `station`, writes."""

    def __init__(self, notes: Notes, variant: str) -> None:
        count, holes = notes.openness.shape
        width = _function("chart_width", variant, ctypes.c_int)()
        self.padded = -(-count // width) * width
        fill = np.minimum(np.arange(self.padded), count - 1)
        f, weights = notes.f.reshape(2, count)[:, fill], notes.weights.reshape(-1, 2, count)[:, :, fill]
        levels = range(notes.levels.size)
        used = np.array([[np.any(row == level) for level in levels] for row in notes.which.T], np.int32)
        self.arrays = {
            "level": notes.levels.astype(float),
            "which": notes.which[fill].T.astype(float),
            "used": used.reshape(holes, notes.levels.size),
            "node": notes.nodes,
            "f": f,
            "weight": weights,
            "station": np.zeros(max(holes, 1), np.int32),
        }
        self.arrays = {name: _aligned(row) for name, row in self.arrays.items()}
        self.chart = _Chart(count, self.padded, holes, notes.levels.size, notes.nodes.size)
        for name, row in self.arrays.items():
            setattr(self.chart, name, row.ctypes.data)
        self.chart_memory = _function("chart_memory", variant, ctypes.c_size_t)
        self.chart_errors = _function("chart_errors", variant, None)

    def room(self, stations: int, slopes: bool) -> int:
        """Address of memory to work in."""
        return _room(self.chart_memory(ctypes.byref(self.chart), stations, int(slopes)))


class _Memory(threading.local):
    """Memory that a thread's charts are worked out in, one after the other."""

    block = np.empty(0, np.uint8)


_memory = _Memory()


def _room(size: int) -> int:
    """Address of so many bytes, 64-aligned, this thread's until it asks again."""
    if _memory.block.size < size + 64:
        _memory.block = np.empty(size + 64, np.uint8)
    return int(_memory.block.ctypes.data + -_memory.block.ctypes.data % 64)


def _fits(chain: Chain, holes: int, axes: int) -> None:
    """Raise ValueError for a chain or a chart of other holes than the sizes say: the kernel trusts them."""
    sizes, vector, hole = chain.sizes, np.shape(chain.vector), np.shape(chain.hole)
    whole = len(vector) == len(hole) == axes and vector[:-1] == hole[:-1]
    if not whole or vector[-1] != sizes.numbers or hole[-1] != sizes.stations:
        raise ValueError(f"a chain of {sizes.holes} holes has no vector {vector} and stations {hole}")
    if holes != sizes.holes or np.max(chain.hole, initial=-1) >= holes:
        raise ValueError(f"a chart of {holes} holes does not fit a duct of {sizes.holes}")


@lru_cache(maxsize=64)
def _prepared(notes: Notes, variant: str, thread: int) -> Prepared:
    return Prepared(notes, variant)


def admittances(chain: Chain, openness: Floats, f: Floats, interaction: bool, variant: str) -> tuple[Complexes, Floats]:
    """Admittance [m3/(Pa s)] at the lips (n,), and the least pivot of each column (n,).

    Parameters
    ----------
    chain : of one duct
    openness : (H, n) of each column
    f : (n,) [Hz]
    interaction : whether the openings act on each other outside
    variant : of the kernel, see `variants`
    """
    _fits(chain, len(openness), 1)
    width = _function("chart_width", variant, ctypes.c_int)()
    padded = -(-f.size // width) * width
    fill = np.minimum(np.arange(padded), f.size - 1)
    levels, which = np.unique(openness, return_inverse=True)
    rows = [levels, which.reshape(openness.shape)[:, fill].astype(float), np.ones(1), f[fill], chain.vector]
    level, which, node, f_all, vector = (_aligned(np.ascontiguousarray(row, float)) for row in rows)
    hole, used = np.ascontiguousarray(chain.hole, np.int32), np.ones(max(openness.shape[0] * levels.size, 1), np.int32)
    chart = _Chart(f.size, padded, openness.shape[0], levels.size, 1)
    known = {"level": level, "which": which, "used": used, "node": node, "f": f_all, "weight": node, "station": used}
    for name, row in known.items():
        setattr(chart, name, row.ctypes.data)
    chart_of_one = _Chart(width, width, openness.shape[0], levels.size, 1)
    size = _function("chart_memory", variant, ctypes.c_size_t)(ctypes.byref(chart_of_one), chain.sizes.stations, 0)
    found, least = np.empty(f.size, complex), np.empty(f.size)
    _function("admittances", variant, None)(
        ctypes.byref(chart), *(ctypes.c_void_p(row.ctypes.data) for row in (vector, hole)), chain.sizes.stations,
        int(interaction), *(ctypes.c_void_p(at) for at in (_room(size), found.ctypes.data, least.ctypes.data)),
    )  # fmt: skip
    return found, least


def _aligned(row: Any) -> Any:
    """The same array, contiguous, at an address that vectors can be loaded from."""
    row = np.ascontiguousarray(row)
    room = np.empty(row.nbytes + 64, np.uint8)
    begin = -room.ctypes.data % 64
    found = room[begin : begin + row.nbytes].view(row.dtype).reshape(row.shape)
    found[...] = row
    return found


def chart_errors(chain: Chain, notes: Notes, slopes: bool, interaction: bool, variant: str) -> tuple[Found, Floats]:
    """Errors of a chart on a batch of ducts, see `charts.chart_errors`; and the least pivot of each note (B, N).

    Parameters
    ----------
    chain : vector (B, numbers), hole (B, M)
    notes : the chart as data
    slopes : whether slopes by the chain's vector are wanted
    interaction : whether the openings act on each other outside
    variant : of the kernel, see `variants`
    """
    _fits(chain, notes.openness.shape[1], 2)
    prepared = _prepared(notes, variant, threading.get_ident())
    vector, hole = np.ascontiguousarray(chain.vector, float), np.ascontiguousarray(chain.hole, np.int32)
    shape = (len(vector), len(notes.openness))
    error, alone, least = (np.empty(shape) for _ in range(3))
    slope = np.empty((*shape, chain.sizes.numbers)) if slopes else None
    stations = chain.sizes.stations
    pointers = [ctypes.c_void_p(row.ctypes.data) if row is not None else None for row in (error, alone, slope, least)]
    prepared.chart_errors(
        ctypes.byref(prepared.chart), len(vector), *(ctypes.c_void_p(row.ctypes.data) for row in (vector, hole)),
        stations, int(slopes), int(interaction), ctypes.c_void_p(prepared.room(stations, slopes)), *pointers,
    )  # fmt: skip
    return Found(error, alone, slope), least
