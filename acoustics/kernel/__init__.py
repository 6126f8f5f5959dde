"""The compiled kernel: whole charts on batches of ducts, in C, for the processor at hand; `charts` is the reference.

`chart.h` holds the network, `elements.h` the elements, written by `generate` from the formulas of this package when the
kernel is built. It may be absent: then `at_hand` says so, and NumPy does the work.
"""

import ctypes
import os
import threading
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from acoustics.arrays import Complexes, Floats
from acoustics.chain import Chain
from acoustics.chart_elements import Notes
from acoustics.charts import Found

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
    """The compiled library beside this file, where it was built."""
    for place in Path(__file__).parent.glob("_kernel*"):
        if place.suffix in (".so", ".pyd", ".dll", ".dylib"):
            try:
                return ctypes.CDLL(str(place))
            except OSError:  # built for another machine
                continue
    return None


@cache
def variants() -> tuple[str, ...]:
    """Variants of the kernel that this processor runs, best last; none where it was not built."""
    library = _library()
    found = 0 if library is None else int(library.kernel_variants())
    return tuple(name for bit, name in enumerate(("plain", "avx2", "avx512")) if found >> bit & 1)


def at_hand() -> str | None:
    """The variant in use; None where NumPy does the work."""
    wanted, known = os.environ.get(SWITCH, ""), variants()
    if wanted == "off" or not known:
        return None
    return wanted if wanted in known else known[-1]


def _function(name: str, variant: str, result: Any) -> Any:
    found = getattr(_library(), f"{name}_{variant}")
    found.restype = result
    return found


class Prepared:
    """A chart laid out for a variant: the arrays that the kernel reads, and room for it to work in, for one thread."""

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
        self.memory = _aligned(np.empty(0, np.uint8))

    def room(self, stations: int, slopes: bool) -> int:
        """Address of memory to work in."""
        size = self.chart_memory(ctypes.byref(self.chart), stations, int(slopes))
        if self.memory.size < size:
            self.memory = _aligned(np.empty(size, np.uint8))
        return int(self.memory.ctypes.data)


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
    memory, found, least = _aligned(np.empty(size, np.uint8)), np.empty(f.size, complex), np.empty(f.size)
    _function("admittances", variant, None)(
        ctypes.byref(chart), *(ctypes.c_void_p(row.ctypes.data) for row in (vector, hole)), chain.sizes.stations,
        int(interaction), *(ctypes.c_void_p(row.ctypes.data) for row in (memory, found, least)),
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
