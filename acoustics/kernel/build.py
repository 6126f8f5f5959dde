"""Builds the kernel when the package is installed, where a C compiler is at hand; without one all works, slower.

Any compiler that knows GCC's vector extension will do: that of `CC`, else cc, gcc or clang, else the one of the package
`ziglang`, which `backend` asks for where there is no other. The result is a plain shared library, of no one Python.
"""

import importlib.util
import os
import shlex
import shutil
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from setuptools import Extension
from setuptools.command.build_ext import build_ext

SOURCES = {"module.c": "-O1", "plain.c": "-O1", "avx2.c": "-O2", "avx512.c": "-O2"}
EVERYWHERE = "HOLEWRIGHT_KERNEL_EVERYWHERE"
"""Environment variable: build for processors with AVX-512 where this one has none, for a package to hand on."""

SWITCH = "HOLEWRIGHT_KERNEL"
"""Environment variable: `off` builds none, and asks for no compiler."""

FLAGS = (
    "-std=gnu11", "-fPIC", "-fno-math-errno", "-fno-trapping-math", "-fno-signed-zeros", "-ffp-contract=fast",
    "-Wno-psabi",
)  # fmt: skip


def compiler() -> list[str] | None:
    """The command that compiles C; None where there is none."""
    if os.environ.get("CC"):
        return shlex.split(os.environ["CC"])
    for name in ("cc", "gcc", "clang"):
        if shutil.which(name):
            return [name]
    if importlib.util.find_spec("ziglang"):
        return [sys.executable, "-m", "ziglang", "cc", "-mcpu=baseline"]
    return None


def left_out() -> bool:
    """Whether the kernel is not wanted."""
    return os.environ.get(SWITCH) == "off"


def sources() -> dict[str, str]:
    """What to compile, and how hard to try: eight lanes only where they will be used, for they double the time."""
    try:
        wide = "avx512dq" in Path("/proc/cpuinfo").read_text(encoding="utf-8")
    except OSError:
        wide = False
    return {name: level for name, level in SOURCES.items() if name != "avx512.c" or wide or EVERYWHERE in os.environ}


def build(folder: Path, made: Path, into: Path) -> None:
    """Write the elements, compile the sources and link them to a library.

    Parameters
    ----------
    folder : of the sources
    made : for what is made on the way
    into : the library

    Raises
    ------
    FileNotFoundError
        where there is no C compiler
    subprocess.CalledProcessError
        where it fails
    """
    command = compiler()
    if command is None:
        raise FileNotFoundError("no C compiler was found")
    made.mkdir(parents=True, exist_ok=True)
    root = folder.parent.parent
    environment = os.environ | {"PYTHONPATH": os.pathsep.join([str(root), *filter(None, sys.path)])}
    written = [sys.executable, "-m", "acoustics.kernel.generate", str(made.resolve())]
    subprocess.run(written, check=True, cwd=root, env=environment)
    chosen = sources()
    flags = [*FLAGS, f"-I{made}", f"-I{folder}", *(["-DWITH_AVX512"] if "avx512.c" in chosen else [])]

    def compiled(source: str) -> str:
        into = str(made / source.replace(".c", ".o"))
        subprocess.run([*command, chosen[source], *flags, "-c", str(folder / source), "-o", into], check=True)
        return into

    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        objects = list(pool.map(compiled, chosen))
    into.parent.mkdir(parents=True, exist_ok=True)
    subprocess.run([*command, "-shared", *objects, "-o", str(into), "-lm"], check=True)


class BuildKernel(build_ext):  # type: ignore[misc]
    """`build_ext` for the one extension there is."""

    def build_extension(self, ext: Extension) -> None:
        """Build the kernel; where that cannot be done, say why and go on without it."""
        made, into = Path(self.build_temp) / "kernel", Path(self.get_ext_fullpath(ext.name))
        if left_out():
            return
        try:
            build(Path("acoustics/kernel").resolve(), made.resolve(), into)
        except (OSError, subprocess.CalledProcessError) as error:
            reason = f"The kernel is not built ({error})"
            print(f"{reason}; NumPy does its work, at a fiftieth of the speed.", file=sys.stderr)

    def copy_extensions_to_source(self) -> None:
        """For an editable installation: what was not built cannot be copied."""
        if all(Path(self.get_ext_fullpath(ext.name)).exists() for ext in self.extensions if not self.inplace):
            super().copy_extensions_to_source()
