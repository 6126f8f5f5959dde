"""How the kernel is made: formulas noted as graphs, written as C, compiled where that can be; and without it."""

import os
import shutil
import subprocess
import sys
from collections import Counter
from pathlib import Path

import numpy as np
import pytest
from places import ROOT

from acoustics import elements, kernel, tiers
from acoustics.duals import slopes_of, value_of, variables
from acoustics.kernel import build, origin
from acoustics.kernel.generate import Element, all_elements, text

WORKED = {
    "add": np.add, "sub": np.subtract, "mul": np.multiply, "div": np.divide, "neg": np.negative, "sqrt": np.sqrt,
    "exp": np.exp, "log": np.log, "sin": np.sin, "cos": np.cos, "floor": np.floor, "max": np.maximum,
    "min": np.minimum, "less": np.less, "pick": np.where,
}  # fmt: skip


def worked_out(element: Element, f, numbers) -> tuple[list, list]:
    """What an element's graph gives in NumPy: its outputs, and the slopes of each by each number."""
    graph, at = element.graph, []
    for kind, *rest in graph.nodes:
        if kind == "constant":
            at.append(rest[0])
        elif kind == "input":
            at.append(numbers[rest[0]])
        else:
            at.append(f if kind == "f" else WORKED[kind](*(at[node] for node in rest)))

    def made(nodes) -> list:
        real = iter(at[node] for node in nodes)
        return [next(real) + 1j * next(real) if kind else next(real) for _, kind in element.outputs]

    value, *slopes = (made(row) for row in element.rows(True))
    return value, [list(rows) for rows in zip(*slopes, strict=True)]


def flat(found) -> list:
    return [item for part in found for item in flat(part)] if isinstance(found, tuple) else [found]


def lumped(f, volume, _, *rest):
    return elements.reed_element(f, volume, np.inf, *rest)


def hole(openness):
    return lambda *given: elements.hole_element(*given, openness=openness)


AIR = [(5, 35), (0, 1), (0, 0.05)]
BORE, HOLE = [(2e-3, 2e-2), (1e-3, 0.2), (-0.1, 0.1)], [
    (1e-3, 8e-3), (9e-3, 2e-2), (1e-3, 8e-3), (1e-3, 2e-2), (1e-2, 3e-2), (1e-3, 3e-3), (5e-3, 1e-2), (5e-4, 5e-3),
    (-1e-4, 1e-3), (0.001, 0.1),
]  # fmt: skip
REED = [(1e-7, 2e-6), (2e-3, 8e-3), (0, 3e-7), (1500, 3000), (0.01, 0.5), (5, 35), (2e-3, 8e-3), (0.0, 0.05)]
PAIR = [(-0.2, 0.2), (-9, 9), (8e-3, 2e-2)]
FORMULAS = {
    "segment": (elements.segment_element, [*BORE, *AIR]),
    "closed_hole": (hole(0.0), [*HOLE, *AIR]),
    "open_hole": (hole(1.0), [*HOLE, *AIR]),
    "part_hole": (hole(0.4), [*HOLE, *AIR]),
    "bell": (elements.bell_element, [(3e-3, 2e-2), (2.1e-2, 3e-2), *AIR]),
    "reed": (elements.reed_element, [*REED, *AIR[1:]]),
    "lumped_reed": (lumped, [*REED, *AIR[1:]]),
    "pair": (elements.pair_element, [*PAIR, *AIR]),
    "bell_pair": (lambda *given: elements.pair_element(*given, with_bell=True), [*PAIR, *AIR]),
    "own": (elements.own_element, [(8e-3, 8e-2), *AIR]),
}
"""The formula of each of the kernel's elements, and ranges of its numbers."""


@pytest.mark.parametrize("element", all_elements(), ids=lambda element: element.name)
def test_an_elements_graph_gives_what_the_formula_gives_on_duals(element):
    # The formula itself on arrays and duals; both differentiate it forward, by rules written twice.
    formula, ranges = FORMULAS[element.name]
    count, dice = 50, np.random.default_rng(5)
    points = np.array([dice.uniform(low, high, count) for low, high in ranges])
    f = dice.uniform(80.0, 2000.0, count)
    constants = [np.full(count, 0.4)] if element.name == "part_hole" else []
    values, slopes = worked_out(element, f, [*points, *constants])
    expected = [flat(formula(one, *variables(point))) for one, point in zip(f, points.T, strict=True)]
    assert {len(outputs) for outputs in expected} == {len(values)}
    for number, (value, rows) in enumerate(zip(values, slopes, strict=True)):
        known = np.array([value_of(outputs[number]) for outputs in expected])
        assert np.max(np.abs(value - known)) <= 1e-11 * np.max(np.abs(known))
        known = np.array([slopes_of(outputs[number], len(points)) for outputs in expected])
        for row, one in zip(rows, known.T, strict=True):
            assert np.max(np.abs(row - one)) <= 1e-10 * np.max(np.abs(one))
    assert any(np.any(np.asarray(row) != 0.0) for rows in slopes for row in rows)


def test_a_graphs_complex_functions_are_those_of_numpy():
    # NumPy's own complex arithmetic; angles as far from the real axis as losses turn them.
    angle, size = (grid.ravel() for grid in np.meshgrid(np.linspace(-2.5, 2.5, 21), np.geomspace(1e-3, 15.0, 15)))

    def formula(f, angle, size):
        z = size * (np.cos(angle) + 1j * np.sin(angle))
        grown = np.exp(z)
        return (
            1.0 / z,
            np.sqrt(z),
            0.5 * (grown + 1.0 / grown),
            0.5 * (grown - 1.0 / grown),
            z * z.real,
            size - z,
            z - size,
            size / z,
        )

    (inverse, root, cosh, sinh, product, less, more, share), _ = worked_out(
        Element("z", 2, formula), 1.0, [angle, size]
    )
    z = size * np.exp(1j * angle)
    assert inverse == pytest.approx(1.0 / z, rel=1e-13)
    assert root == pytest.approx(np.sqrt(z), rel=1e-13)
    assert cosh == pytest.approx(np.cosh(z), rel=1e-12)
    assert sinh == pytest.approx(np.sinh(z), rel=1e-12)
    assert product == pytest.approx(z * z.real, rel=1e-13)
    for found, known in ((less, size - z), (more, z - size), (share, size / z)):
        assert np.all(np.abs(found - known) <= 1e-13 * (np.abs(known) + np.abs(z)))


def test_a_formula_that_branches_on_a_number_is_refused():
    # Both sides must be in the graph: only numpy.where can choose between them.
    with pytest.raises(TypeError, match=r"may not branch on a number; use numpy\.where"):
        Element("kink", 1, lambda f, x: x if x < 1.0 else 2.0 * x)
    kink = Element("kink", 1, lambda f, x: np.where(x < 1.0, x, 2.0 * x))
    (value,), ((slope,),) = worked_out(kink, 1.0, [np.array([0.5, 3.0])])
    assert value.tolist() == [0.5, 6.0]
    assert slope.tolist() == [1.0, 2.0]


def test_a_function_without_a_rule_is_refused():
    with pytest.raises(TypeError):
        Element("wild", 1, lambda f, x: np.arcsin(x))


def test_every_element_is_written_with_values_and_with_slopes():
    written = text()
    assert {element.name for element in all_elements()} == set(FORMULAS)
    functions = Counter(line.split("(")[0] for line in written.splitlines() if line.startswith("static INLINE void"))
    kinds = [f"{name}_{kind}_{when}" for name in FORMULAS for kind in ("values", "slopes") for when in ("once", "at")]
    assert functions == {f"static INLINE void {name}": 1 for name in kinds}
    assert "nan" not in written
    assert "inf" not in written
    assert written == text()


# --- building --------------------------------------------------------------------------------------------------------


def test_an_installation_that_had_a_compiler_has_the_kernel():
    # Without this every check of the kernel would be left out unnoticed.
    assert kernel.variants() or build.compiler() is None
    if kernel.variants():
        assert kernel.variants()[0] == "plain"


def run_build(folder: Path, **environment) -> subprocess.CompletedProcess:
    """`build_ext` by setuptools on a copy of the package, as an installation runs it."""
    shutil.copytree(ROOT / "acoustics", folder / "acoustics", ignore=shutil.ignore_patterns("_kernel*", "__pycache__"))
    script = (
        "from setuptools import Extension, setup\n"
        "from acoustics.kernel.build import BuildKernel\n"
        "extension = Extension('acoustics.kernel._kernel', [], optional=True)\n"
        "setup(name='part', packages=['acoustics', 'acoustics.kernel'], ext_modules=[extension],\n"
        "      cmdclass={'build_ext': BuildKernel}, script_args=['-q', 'build_ext', '--inplace'])\n"
    )
    (folder / "setup.py").write_text(script)
    surroundings = os.environ | {"PYTHONPATH": str(folder)} | environment
    command = [sys.executable, "setup.py"]
    return subprocess.run(command, cwd=folder, env=surroundings, capture_output=True, text=True, check=False)


def test_without_a_compiler_the_installation_goes_on_and_says_so(tmp_path):
    done = run_build(tmp_path, CC="no-such-compiler")
    assert done.returncode == 0, done.stderr
    assert "The kernel is not built" in done.stderr
    assert "NumPy does its work" in done.stderr
    assert not list((tmp_path / "acoustics").rglob("_kernel*"))
    script = (
        "from acoustics import kernel, resonances, tiers\n"
        "assert kernel.variants() == ()\n"
        "assert kernel.at_hand() is None\n"
        "print(tiers.in_use(), kernel.__file__)\n"
    )
    found = subprocess.run([sys.executable, "-c", script], cwd=tmp_path, capture_output=True, text=True, check=True)
    assert found.stdout.split() == ["numpy", str(tmp_path / "acoustics" / "kernel" / "__init__.py")]


def test_a_compiler_that_fails_leaves_no_library(tmp_path):
    # `false` takes any arguments and fails, as a compiler does that does not know an option.
    done = run_build(tmp_path, CC="false")
    assert done.returncode == 0, done.stderr
    assert "The kernel is not built" in done.stderr
    assert not list((tmp_path / "acoustics").rglob("_kernel*"))


def test_the_compiler_is_the_one_that_is_named(monkeypatch):
    monkeypatch.setenv("CC", "ccache gcc -m64")
    assert build.compiler() == ["ccache", "gcc", "-m64"]
    monkeypatch.delenv("CC")
    monkeypatch.setattr(shutil, "which", lambda name: "/somewhere" if name == "clang" else None)
    assert build.compiler() == ["clang"]
    monkeypatch.setattr(shutil, "which", lambda name: None)
    monkeypatch.setattr(build.importlib.util, "find_spec", lambda name: None)
    assert build.compiler() is None
    with pytest.raises(FileNotFoundError, match="no C compiler was found"):
        build.build(Path("kernel"), Path("made"), Path("library"))


# --- choosing --------------------------------------------------------------------------------------------------------


def test_without_a_library_numpy_does_the_work(monkeypatch):
    monkeypatch.setattr(kernel, "variants", tuple)
    monkeypatch.delenv(kernel.SWITCH, raising=False)
    assert kernel.at_hand() is None
    assert tiers.in_use() == "numpy"


def test_a_variant_is_picked_by_name_and_else_the_best(monkeypatch):
    monkeypatch.setattr(kernel, "variants", lambda: ("plain", "avx2"))
    for wanted, found in (("", "avx2"), ("plain", "plain"), ("off", None)):
        monkeypatch.setenv(kernel.SWITCH, wanted)
        assert kernel.at_hand() == found


def test_an_unknown_variant_is_told(monkeypatch):
    monkeypatch.setattr(kernel, "variants", lambda: ("plain", "avx2"))
    monkeypatch.setenv(kernel.SWITCH, "avx512")
    with pytest.raises(ValueError, match="names 'avx512'; there is here: off, plain, avx2"):
        kernel.at_hand()


def test_what_is_not_wanted_is_not_built(monkeypatch):
    monkeypatch.setenv(build.SWITCH, "off")
    assert build.left_out()
    assert build.SWITCH == kernel.SWITCH


def copy_of_the_formulas(folder: Path) -> Path:
    return shutil.copytree(ROOT / "acoustics", folder / "acoustics", ignore=shutil.ignore_patterns("__pycache__"))


def test_every_module_that_the_elements_are_written_from_is_marked():
    script = "import sys, acoustics.kernel.generate\nprint(*(m for m in sys.modules if m.startswith('acoustics.')))"
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True)
    loaded = {name.removeprefix("acoustics.").replace(".", "/") + ".py" for name in done.stdout.split()}
    behind = {
        "charts.py",
        "chart_elements.py",
        "chart_slopes.py",
        "network.py",
        "sweeps.py",
        "kernel.py",
        "kernel/origin.py",
    }
    assert loaded - behind == set(origin.FORMULAS) - {"kernel/__init__.py"}


def test_a_kernel_built_from_other_formulas_is_left_out(tmp_path):
    # A comment more is no other formula; a constant changed is one.
    if not kernel.variants():
        pytest.skip("there is no kernel here")
    folder = copy_of_the_formulas(tmp_path)
    script = "from acoustics import tiers; print(tiers.in_use())"

    def answered() -> subprocess.CompletedProcess:
        command = [sys.executable, "-c", script]
        return subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=True)

    assert answered().stdout.startswith("kernel")
    formulas = folder / "radiation.py"
    formulas.write_text("# Said anew.\n" + formulas.read_text())
    assert answered().stdout.startswith("kernel")
    formulas.write_text(formulas.read_text().replace("FLANGED_LENGTH = 0.8216", "FLANGED_LENGTH = 0.8217"))
    done = answered()
    assert done.stdout.strip() == "numpy"
    assert "was built from other formulas and is left out; install again" in done.stderr
