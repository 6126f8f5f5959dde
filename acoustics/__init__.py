"""Physics of reed woodwinds: arrays in, arrays out.

No files, no printing, no randomness, and no knowledge of how a layout is searched for. Formulas broadcast over NumPy
arrays and carry slopes along where they are given `duals.Dual`s. SI units throughout.

Conventions: time dependence e^{+j omega t}; volume flow U positive into the instrument; position s = 0 at the reed
end of the bore, growing toward the bell along the centre line.
"""

from acoustics import dual_rules as dual_rules
