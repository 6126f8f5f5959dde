"""The array type of this package: JAX arrays, or NumPy arrays where JAX takes them."""

from typing import Any, TypeAlias

import jax
import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = jax.Array | NDArray[Any]
Floats: TypeAlias = NDArray[np.float64]
