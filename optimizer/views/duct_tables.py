"""Ducts given as plain numbers, computed and set against reference values: the table that shows how good the model is.

The file is JSON: `c_m_per_s` and `cases`, each with `bore` and `outer` as [position, radius] in mm, `holes`, and where
known `resonances` in Hz and `Z` as [re, im] of Z_in over rho c / S, keyed by the frequency in Hz. See `PlainDuct`.
"""

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from rich.console import Console

from acoustics.plain_duct import PlainDuct
from optimizer.project.faults import Fault
from optimizer.views.table import Column, tabled
from optimizer.views.terminal import show_table

LOWEST_HZ = 20.0
ABOVE_LAST = 1.08


def show_ducts(path: Path) -> None:
    """Print a table of all cases of a file.

    Raises
    ------
    Fault
        when the file cannot be read
    """
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        rows = [duct_row(name, case, data) for name, case in data["cases"].items()]
    except (OSError, json.JSONDecodeError) as error:
        raise Fault(f"{path}: {error}") from None
    except KeyError as error:
        raise Fault(f"{path} lacks {error}; acoustics/README.md says what a case holds") from None
    except (TypeError, AttributeError, IndexError):
        raise Fault(f"{path} is not laid out as acoustics/README.md says") from None
    except ValueError as error:
        raise Fault(f"{path}: {error}; acoustics/README.md says what a case holds") from None
    if not rows:
        raise Fault(f"{path} holds no cases; acoustics/README.md says how one is written")
    show_table(Console(width=180, highlight=False), tabled("Ducts: computed against the file's values", DUCTS, rows))


DUCTS: Sequence[Column[Sequence[str]]] = [
    Column("case", lambda row: row[0], wraps=True),
    Column("what", lambda row: row[1], wraps=True),
    Column("resonances, Hz", lambda row: row[2], wraps=True),
    Column("difference, cents", lambda row: row[3], wraps=True),
    Column("Z_in, largest difference, %", lambda row: row[4], wraps=True),
]


def duct_row(name: str, case: Mapping[str, Any], data: Mapping[str, Any]) -> list[str]:
    """One row: name, title, resonances, their differences [cents], the largest difference of Z_in [%]."""
    duct = PlainDuct(case["bore"], case["outer"], case["holes"], data["c_m_per_s"], data.get("lossless", True))
    known = np.asarray(case.get("resonances", []), float)
    top = ABOVE_LAST * float(known.max()) if known.size else 2000.0
    found = duct.resonances(LOWEST_HZ, top).frequency
    shown = found[: known.size] if known.size else found
    cents = 1200.0 * np.log2(shown / known[: shown.size]) if known.size else np.empty(0)
    return [
        name,
        str(case.get("title", "")),
        " ".join(f"{f:.2f}" for f in shown),
        " ".join(f"{value:+.2f}" for value in cents) + (" missing!" if shown.size < known.size else ""),
        _impedance_cell(duct, case.get("Z", {})),
    ]


def _impedance_cell(duct: PlainDuct, known: Mapping[str, Sequence[float]]) -> str:
    if not known:
        return ""
    f = np.array([float(key) for key in known])
    reference = np.array([complex(*value) for value in known.values()])
    share = 100.0 * np.abs(duct.input_impedance(list(f)) / reference - 1.0)
    order = np.argsort(share)[::-1]
    return ", ".join(f"{share[i]:.1f} at {f[i]:.0f} Hz" for i in order[:3])
