"""Physics of reed woodwinds: arrays in, arrays out.

No files, no printing, no randomness, and no knowledge of how a layout is searched for. Every function works on
JAX or NumPy arrays, broadcasts, and can be differentiated, vectorised and compiled by JAX. SI units throughout.

Conventions: time dependence e^{+j omega t}; volume flow U positive into the instrument; position s = 0 at the reed
end of the bore, growing toward the bell along the centre line.
"""

import jax

jax.config.update("jax_enable_x64", True)  # type: ignore[no-untyped-call]
