"""Blown tones against the same tones sample by sample, on bores and on a layout; how they settle with partials, and how
long layouts take.

    python tests/benchmarks/blown.py            # bores of the kit, and the tenor's prototype
    python tests/benchmarks/blown.py LAYOUT...  # and these layouts

Bores are those of `kit/blown_in_time.py`; pressures are over the one that shuts the reed, cents over the soft limit.
"""

import sys
import time
from pathlib import Path

import numpy as np
from scipy.optimize import brentq

sys.path[:0] = [str(Path(__file__).parents[1] / "kit"), str(Path(__file__).parents[2])]

from blown_in_time import bore, played, rate_for
from blown_modes import RATE as MODES_RATE
from blown_modes import blown_by_modes, modes
from counted_pitch import counted_hz
from places import CONFIGS

from acoustics.balance import Reeds
from acoustics.blown import blown
from acoustics.chain import chain_of
from acoustics.network import as_arrays
from acoustics.scan import admittances
from optimizer.analysis.blowing import WAYS, blowing_of, entry_of, usual_reeds
from optimizer.records.files import read_record
from optimizer.records.layout import LayoutRecord
from optimizer.solving.real_resonances import record_duct

BORES = {
    "cylinder 500 x 15 mm": (bore(500.0, 7.5), 168.8),
    "cone 700 mm, 12 mm at the reed": (bore(700.0, 6.0, apex_mm=250.0, cavity_mm=83.0), 178.5),
    "cone 400 mm, 12 mm at the reed": (bore(400.0, 6.0, apex_mm=250.0, cavity_mm=83.0), 264.8),
    "cone 300 mm, 8 mm at the reed": (bore(300.0, 4.0, apex_mm=150.0, cavity_mm=50.0), 378.6),
    "cone 600 mm, 6 mm at the reed": (bore(600.0, 3.0, apex_mm=180.0, cavity_mm=60.0), 214.7),
}
TENOR = CONFIGS / "prototypes" / "lantern-tenor.json"
PRESSURES = (0.40, 0.45, 0.60)


def soft_limit(shape, near):
    """The upward zero of Im Y near a frequency."""
    return brentq(lambda f: (1.0 / shape.impedance(f)).imag, 0.92 * near, 1.08 * near)


def balanced(shape, near, zeta, pressures, **more):
    """Tones at given pressures."""
    reeds = Reeds(zeta, np.inf, 0.0)

    def at(ways):
        return blown(lambda rows, f: shape.impedance(f), np.array([near]), reeds, np.array(ways), **more)

    start = at([0.05]).starts[0]
    ways = [(pressure - start) / (1.0 - start) for pressure in pressures if pressure > start]
    return at(ways) if ways else None


def simulated(shape, near, zeta, pressure, first, seconds=1.0):
    """Pitch of the tone sample by sample, over a start by two partials [Hz]."""
    rate = rate_for(shape, 88200)

    def start(t):
        return sum(0.5 * tall * np.cos(2.0 * np.pi * n * near * t) for n, tall in enumerate(first, 1))

    sound = played(shape, pressure, zeta, seconds, rate, start)[-int(0.3 * rate) :]
    return counted_hz(sound, rate, near)


def against_time():
    """Both, bore by bore."""
    print(
        "| bore | strength | pressure | balance, cents | lasts | sample by sample, cents |\n|---|---|---|---|---|---|"
    )
    for name, (shape, about) in BORES.items():
        near = soft_limit(shape, about)
        for zeta in (0.3, 0.5, 0.8):
            found = balanced(shape, near, zeta, PRESSURES)
            if found is None:
                continue
            for at, pressure in enumerate(found.pressure[0]):
                if not np.isfinite(found.hz[0, at]):
                    print(f"| {name} | {zeta} | {pressure:.2f} | none | | |")
                    continue
                hz = simulated(shape, near, zeta, pressure, np.abs(found.partials[0, at, :2]))
                one, other = (1200.0 * np.log2(each / near) for each in (found.hz[0, at], hz))
                lasts = "yes" if found.steady[0, at] else "no"
                print(f"| {name} | {zeta} | {pressure:.2f} | {one:+.2f} | {lasts} | {other:+.2f} |", flush=True)


def by_partials():
    """How cents settle."""
    print("\n| bore, strength, pressure | " + " | ".join(f"{n} partials" for n in (6, 10, 20, 40, 80)) + " |")
    print("|---" * 6 + "|")
    for name, zeta, pressure in (("cylinder 500 x 15 mm", 0.3, 0.45), ("cone 700 mm, 12 mm at the reed", 0.5, 0.53)):
        shape, about = BORES[name]
        near, cells = soft_limit(shape, about), []
        for partials in (6, 10, 20, 40, 80):
            found = balanced(shape, near, zeta, (0.42, pressure), partials=partials, highest_hz=1e9)
            cells.append(f"{1200.0 * np.log2(found.hz[0, -1] / near):+.3f}")
        print(f"| {name}, {zeta}, {pressure} | " + " | ".join(cells) + " |")


def on_the_tenor(names=("B3", "D4", "G4", "B4", "F#5", "C6")):
    """Notes of the tenor's prototype, by balance on its own impedance and by the modes of that."""
    record = read_record(TENOR, LayoutRecord)
    chain = chain_of(as_arrays(record_duct(record)))
    _, entry = entry_of(record_duct(record))
    print("\n| note | strength | pressure | balance, cents | lasts | by modes, cents |\n|---|---|---|---|---|---|")
    for note in [note for note in record.notes if note.written in names and not note.alternate]:

        def seen(f, openness=tuple(note.openness)):
            states = np.repeat(np.array(openness)[:, None], f.size, axis=1)
            return 1.0 / (entry * admittances(chain, states, f.ravel()).reshape(f.shape))

        poles, residues, missed = modes(seen)
        near = note.frequency_hz
        for zeta in (0.7, 0.95):
            reeds = Reeds(zeta, np.inf, 0.0)
            found = blown(lambda rows, f, of=seen: of(f), np.array([near]), reeds, np.array(list(WAYS.values())))
            for at, pressure in enumerate(found.pressure[0]):
                if not np.isfinite(found.hz[0, at]):
                    continue
                told = found.hz[0, at], found.partials[0, at]
                sound = blown_by_modes(poles, residues, pressure, zeta, *told, 0.9)[-int(0.25 * MODES_RATE) :]
                one, other = (1200.0 * np.log2(hz / near) for hz in (told[0], counted_hz(sound, MODES_RATE, near)))
                lasts = "yes" if found.steady[0, at] else "no"
                print(f"| {note.written} | {zeta} | {pressure:.2f} | {one:+.2f} | {lasts} | {other:+.2f} |", flush=True)
        print(f"  ({note.written}: {poles.size} modes, which miss the impedance by {missed:.0%} at the most)")


def of_layouts(paths):
    """CPU seconds of layouts, and how many of their notes are told at each blowing."""
    print()
    for path in paths:
        record = read_record(path, LayoutRecord)
        notes = [note for note in record.notes if not note.alternate]
        begun = time.process_time()
        found = blowing_of(record, usual_reeds(record), notes)
        told = [sum(note.blown[at].steady > 0 for note in found.notes) for at in range(len(found.ways))]
        print(
            f"{record.instrument}: {len(found.notes)} notes, {len(found.reeds)} reeds, "
            f"{time.process_time() - begun:.1f} s of CPU; notes with a tone that lasts: "
            + ", ".join(f"{how} {count}" for how, count in zip(found.ways, told, strict=True))
        )


if __name__ == "__main__":
    against_time()
    by_partials()
    on_the_tenor()
    of_layouts([TENOR, *map(Path, sys.argv[1:])])
