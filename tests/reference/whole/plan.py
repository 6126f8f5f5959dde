"""What is computed with `helmholtz`, and how lengths are taken from it; needs NGSolve, see the README.

python plan.py inner    how a hole looks from the bore, to `inner.json`
python plan.py outer    how an opening looks from its hole, to `outer.json`
python plan.py ducts    resonances of whole ducts, to `ducts.json`
python plan.py finer    the same on a finer mesh
"""

import json
import sys
from pathlib import Path

import ngsolve as ng
import numpy as np
from helmholtz import DENSITY, MESH, SPEED, reduced
from scipy.optimize import brentq
from shapes import DEEP

HERE = Path(__file__).parent
INNER = ((0.1, 2.0), (0.2, 4.0), (0.3, 4.0), (0.467, 4.0), (0.6, 4.0), (0.7, 3.0), (0.8, 2.5), (0.8, 9.0), (0.9, 2.5))
LOADS, KA = (0.0, 0.6, 1.2, 3.0), (0.03, 0.1, 0.2, 0.3, 0.4)
OUTER, KR = (1.15, 3.45, 5.0, 6.9, 8.05), (0.1, 0.2, 0.3, 0.4, 0.5)
AT_REST = 0.03
BORE, BODY = 7.5, 11.5
EXPECTED = {
    "keyed-cone-step": (340.6, 739.6, 1151.4, 1498.7),
    "keyed-cone-fork": (354.4, 751.4, 1068.2, 1390.1),
    "bare-cone": (230.6, 479.7, 743.5, 1014.8),
}


def tube(radius, wall, hole, length):
    """A cylinder with one open hole in its middle."""
    line = ([0.0, radius], [length, radius])
    outer = [[x, r + wall] for x, r in line]
    return {"bore": list(line), "outer": outer, "holes": [{"x": 0.5 * length, "r": hole, "state": "open"}]}


def keyed_cone(states):
    """A cone with six padded seats in a row, each open or closed."""
    holes = []
    for number, state in enumerate(states):
        x, radius = 250.0 + 30.0 * number, 3.0 + 0.3 * number
        crown = 7.0 + 8.0 * x / 450.0
        holes.append({
            "x": x, "r": round(radius, 2), "state": "open" if state == "o" else "closed",
            "seat": {"r": round(radius + 1.6, 2), "top": round(crown + 2.0, 1)},
            "pad": {"r": round(radius + 2.0, 2), "gap": round(1.8 + 0.1 * number, 1), "thickness": 2.0},
        })  # fmt: skip
    return {"bore": [[0, 3.0], [450, 11.0]], "outer": [[0, 7.0], [450, 15.0]], "holes": holes}


def whole_ducts():
    """Every whole duct by name."""
    bare = {"bore": [[0, 3.0], [600, 15.0]], "outer": [[0, 7.0], [600, 19.0]], "holes": []}
    return {"keyed-cone-step": keyed_cone("cccooo"), "keyed-cone-fork": keyed_cone("ccocco"), "bare-cone": bare}


def line(k, length, area):
    """Transfer matrix of a lossless cylinder; pressures, flows; SI."""
    plane = DENSITY * SPEED / area
    cosine, sine = np.cos(k * length), np.sin(k * length)
    return np.array([[cosine, 1j * plane * sine], [1j * sine / plane, cosine]])


def without_channels(impedance, k, lengths, areas):
    """Impedances (ports, ports) with the port at the inner end of a channel of a length before each, taken off."""
    plane = DENSITY * SPEED / areas
    cosine, sine = np.cos(k * lengths), np.sin(k * lengths)
    pressure = cosine[:, None] * impedance - np.diag(1j * plane * sine)
    return pressure @ np.linalg.inv(np.diag(cosine) - (1j * sine / plane)[:, None] * impedance)


def shunt_and_series(solved, ka, delta, load):
    """Lengths [b] of the T that a hole makes in a bore, a load [b] of inertance at its top."""
    a, b, length = 1e-3 * BORE, 1e-3 * BORE * delta, 0.12
    k, bore, hole = ka / a, np.pi * a * a, np.pi * b * b
    f = k * SPEED / (2.0 * np.pi)
    unit = 2j * np.pi * f * DENSITY
    found = without_channels(
        solved.impedance(f), k, np.array([0.0, DEEP * b, DEEP * a]), np.array([bore, hole, bore])
    )  # fmt: skip
    ends = found[np.ix_([0, 2], [0, 2])] - np.outer(found[[0, 2], 1], found[1, [0, 2]]) / (
        found[1, 1] + unit * load * b / hole
    )
    chain = np.array([[ends[0, 0], ends[0, 0] * ends[1, 1] - ends[0, 1] * ends[1, 0]], [1.0, ends[1, 1]]]) / ends[1, 0]
    half = np.linalg.inv(line(k, 0.5 * length, bore))
    hole_alone = half @ chain @ half
    shunt = 1.0 / hole_alone[1, 0]
    series = (hole_alone[0, 0] + hole_alone[1, 1] - 2.0) * shunt
    return float((shunt * hole / unit).real / b), float((series * bore / unit).real / b)


def outer_length(solved, kr, hole):
    """Length [b] that the air outside adds to a hole of a radius [mm] in the middle of a body."""
    b, k = 1e-3 * hole, kr / (1e-3 * BODY)
    areas = np.pi * np.array([b, 0.005]) ** 2
    f = k * SPEED / (2.0 * np.pi)
    found = without_channels(solved.impedance(f), k, DEEP * np.array([b, 0.005]), areas)
    return float(found[0, 0].imag * areas[0] / (2.0 * np.pi * f * DENSITY * b))


def inner_rows(solved, delta, wall):
    """Rows of `inner.json` of one hole."""
    for load in LOADS:
        for ka in KA:
            shunt, series = shunt_and_series(solved, ka, delta, load)
            yield {
                "delta": delta, "wall": round(wall / (BORE * delta), 5), "load": load, "ka": ka,
                "shunt": round(shunt, 5), "series": round(series, 5),
            }  # fmt: skip


def outer_rows(solved, hole):
    """Rows of `outer.json` of one hole: the length, and its rise since AT_REST."""
    rest = outer_length(solved, AT_REST, hole)
    for kr in KR:
        rise = outer_length(solved, kr, hole) - rest
        yield {"ratio": round(hole / BODY, 5), "kr": kr, "rest": round(rest, 5), "rise": round(rise, 6)}


def resonances(solved, expected):
    """Zeros of the input reactance [Hz] by those expected, at maxima of the impedance."""

    def susceptance(f):
        return (1.0 / solved.impedance(f)[0, 0]).imag

    return [round(brentq(susceptance, f * 0.995, f * 1.005, xtol=1e-6), 4) for f in expected]


def keep(name, rows):
    """Write rows, one a line."""
    text = ",\n".join(f" {json.dumps(row)}" for row in rows)
    (HERE / name).write_text(f"[\n{text}\n]\n", encoding="utf-8")


def duct_row(name, mesh):
    """One whole duct on a mesh, with what came out."""
    case = whole_ducts()[name]
    solved, elements = reduced(case, "whole", EXPECTED[name], **mesh)
    return {"name": name, **mesh, "elements": elements, **case, "resonances": resonances(solved, EXPECTED[name])}


def main(what):
    """Compute and write."""
    ng.SetNumThreads(1)
    if what == "inner":
        nodes, rows = (200.0, 730.0, 1457.0, 2185.0, 2900.0), []
        for delta, wall in INNER:
            rows += inner_rows(reduced(tube(BORE, wall, delta * BORE, 120.0), "inside", nodes, **MESH)[0], delta, wall)
        keep("inner.json", [row for row in rows if row["shunt"] > 0.0])
    elif what == "outer":
        nodes, rows = (150.0, 900.0, 1700.0, 2400.0), []
        for hole in OUTER:
            duct = tube(5.0, BODY - 5.0, hole, 200.0)
            rows += outer_rows(reduced(duct, "outside", nodes, **MESH | {"rim": 0.4})[0], hole)
        keep("outer.json", rows)
    else:
        file = HERE / "ducts.json"
        rows = json.loads(file.read_text(encoding="utf-8")) if file.exists() else []
        mesh = MESH if what == "finer" else MESH | {"rim": 0.5}
        keep("ducts.json", rows + [duct_row(name, mesh) for name in EXPECTED])


if __name__ == "__main__":
    main(sys.argv[1])
