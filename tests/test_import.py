"""The physics stands alone: importing it brings in nothing of the search."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from ducts import make_duct, make_holes

from acoustics.arrays import map_arrays
from acoustics.resonances import note_errors
from acoustics.scan import input_admittance

ROOT = Path(__file__).parents[1]


def test_importing_the_physics_loads_nothing_of_the_search():
    # A fresh interpreter; the list is what the search and the files need and the physics must not.
    script = (
        "import sys, acoustics, acoustics.resonances\n"
        "unwanted = {'ray', 'optuna', 'pydantic', 'piqp', 'rich', 'scipy', 'optimizer'} & set(sys.modules)\n"
        "assert 'numpy' in sys.modules\n"
        "print(','.join(sorted(unwanted)))\n"
    )
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""


def test_the_physics_works_in_double_precision(tier):
    # A cent is 6e-4 and slopes are taken of thousandths of it: single precision would not do.
    # Whole numbers and single precision as they may come from a caller.
    duct = make_duct([(0, 3), (500, 8)], make_holes([300], [3], [4], [9]))
    single = map_arrays(lambda row: np.asarray(row, np.float32), duct)
    openness, target = np.ones((1, 1), np.float32), np.array([300], np.int64)
    found = note_errors(single, openness, target)
    assert found.error.dtype == found.slope.holes.radius.dtype == np.float64
    widened = map_arrays(lambda row: np.asarray(row, float), single)
    assert found.error == pytest.approx(note_errors(widened, openness, target).error, rel=1e-14)
    assert input_admittance(single, openness[0], 300).dtype == np.complex128
