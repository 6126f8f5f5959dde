"""The physics stands alone: importing it brings in nothing of the search."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]


def test_importing_the_physics_loads_nothing_of_the_search():
    # A fresh interpreter; the list is what the search and the files need and the physics must not.
    script = (
        "import sys, acoustics, acoustics.resonances\n"
        "unwanted = {'ray', 'optuna', 'pydantic', 'piqp', 'rich', 'optimizer'} & set(sys.modules)\n"
        "assert 'jax' in sys.modules\n"
        "print(','.join(sorted(unwanted)))\n"
    )
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""


def test_the_physics_works_in_double_precision():
    # A cent is 6e-4 and slopes are taken of thousandths of it: single precision would not do.
    script = "import acoustics, jax.numpy as jnp\nprint(jnp.asarray(1.0).dtype)\n"
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "float64"
