"""Files of measured input impedances: tables with units in their headers, and the one-port format of network analysers.

| what | headers, or `.s1p` |
|---|---|
| impedance | `impedance_real_pa_s_per_m3`, `impedance_imag_pa_s_per_m3` |
| admittance | `admittance_real_m3_per_pa_s`, `admittance_imag_m3_per_pa_s` |
| impedance over rho c / S of the bore at its plane | `impedance_real_over_z0`, `impedance_imag_over_z0` |
| S, Y or Z, as RI, MA or DB, frequency in Hz to GHz | option line `# Hz S RI R 1` (Touchstone 1.1, EIA/IBIS) |

Time goes as e^{+j omega t}. A remark `temperature_degC = 21.5`, after # or in `.s1p` after !, is kept.
"""

import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from acoustics.arrays import Complexes, Floats
from optimizer.project.file_text import text_of
from optimizer.prototype.measured_table import MeasuredTable, Problems, TableError, read_table
from optimizer.prototype.quantities import Quantity
from optimizer.words import cut

CALLED = "measured impedance file"
BYTES_MOST, ROWS_MOST, ROWS_LEAST = 10_000_000, 100_000, 20
LOWEST_HZ, HIGHEST_HZ = 5.0, 40_000.0
STEP_MOST_CENTS = 100.0
"""Coarser than this no resonance can be told."""
REFLECTS_MOST = 1.2
"""More than comes in nothing reflects; so much is noise."""

QUANTITIES = (
    Quantity("frequency", "hz", "frequency", needed=True, low=LOWEST_HZ, high=HIGHEST_HZ),
    *(
        Quantity(f"{what}_{part}", unit, f"{part} part of the {what}")
        for what, unit in (("impedance", "pa_s_per_m3"), ("impedance", "over_z0"), ("admittance", "m3_per_pa_s"))
        for part in ("real", "imag")
    ),
)
UNITS_HZ = {"hz": 1.0, "khz": 1e3, "mhz": 1e6, "ghz": 1e9}


@dataclass(frozen=True)
class MeasuredImpedance:
    """A measurement: frequency (F,) [Hz], impedance (F,) over z0; z0 is rho c / S of the bore where `absolute` is
    False, 1 Pa s/m3 where it is True; what its remarks say."""

    frequency: Floats
    impedance: Complexes
    absolute: bool
    remarks: dict[str, str]


def read_impedance(path: Path) -> MeasuredImpedance:
    """Read a file of a measured impedance.

    Raises
    ------
    TableError
        with what is wrong with it
    """
    problems = Problems(str(path), f"{CALLED} to mend")
    if re.fullmatch(r"\.s\d+p", path.suffix.lower()):
        found = _of_network(path, problems)
    else:
        found = _of_table(read_table(path, CALLED, QUANTITIES, BYTES_MOST, ROWS_MOST))
    _look_over(found, problems)
    problems.refuse()
    return found


def _of_table(table: MeasuredTable) -> MeasuredImpedance:
    """The measurement in a table."""
    kinds = {"impedance": "pa_s_per_m3", "over": "over_z0", "admittance": "m3_per_pa_s"}
    pairs = {
        kind: tuple(f"{'impedance' if kind == 'over' else kind}_{part}_{unit}" for part in ("real", "imag"))
        for kind, unit in kinds.items()
    }
    there = {kind: pair for kind, pair in pairs.items() if set(pair) & set(table.headers)}
    if len(there) != 1 or not set(next(iter(there.values()), ("",))) <= set(table.headers):
        wanted = "; ".join(" and ".join(pair) for pair in pairs.values())
        table.problems.say(f"must have one pair of columns beside frequency_hz: {wanted}")
        table.problems.refuse()
    kind, (real, imag) = next(iter(there.items()))
    for row in table.rows:
        for header in (real, imag):
            if row.number(header) is None:
                table.problems.say("is empty", row.line, header)
    table.problems.refuse()
    value = np.array([complex(row.number(real) or 0.0, row.number(imag) or 0.0) for row in table.rows])
    f = np.array([row.number("frequency_hz") or 0.0 for row in table.rows])
    if kind == "admittance":
        value = 1.0 / np.where(value == 0.0, 1e-30, value)
    return MeasuredImpedance(f, value, kind != "over", dict(table.remarks))


def _of_network(path: Path, problems: Problems) -> MeasuredImpedance:
    """The measurement in a file of a network analyser."""

    def unusable(sentence: str) -> TableError:
        return TableError(sentence, heading=problems.heading)

    text = text_of(path, unusable, missing=CALLED, name=CALLED, whole=CALLED, kind="text", most=BYTES_MOST)
    if path.suffix.lower() != ".s1p":
        problems.say("is of more ports than one; an input impedance has one, and its file ends in .s1p")
    lines = list(enumerate(text.splitlines(), start=1))
    remarks = dict(re.findall(r"(?m)!\s*(\w+)\s*=\s*(\S+)", text.lower()))
    options = [(number, line) for number, line in lines if line.lstrip().startswith("#")]
    if len(options) != 1:
        problems.say("must have one option line, such as `# Hz S RI R 1`")
    if re.search(r"(?mi)^\s*\[version\]", text):
        problems.say("is of version 2 of its format; write version 1")
    problems.refuse()
    unit, kind, form = _options(*options[0], problems)
    rows = []
    for number, line in lines:
        words = line.partition("!")[0].split()
        if words and not words[0].startswith("#"):
            rows.append(_triple(words, number, problems))
    problems.refuse()
    if len(rows) > ROWS_MOST:
        problems.say(f"has {len(rows)} rows; a {CALLED} has at most {ROWS_MOST}")
    problems.refuse()
    data = np.array(rows, float).reshape(-1, 3)
    value = _complex(data[:, 1], data[:, 2], form)
    with np.errstate(all="ignore"):
        z = {"s": (1.0 + value) / (1.0 - value), "z": value, "y": 1.0 / value}[kind]
    return MeasuredImpedance(data[:, 0] * UNITS_HZ[unit], np.nan_to_num(z, posinf=1e12), False, remarks)


def _options(number: int, line: str, problems: Problems) -> tuple[str, str, str]:
    """Unit of frequency, parameter and format of an option line; defaults as the format has them."""
    words = line.strip().lower().lstrip("#").split()
    found = {"unit": "ghz", "kind": "s", "form": "ma"}
    known = dict.fromkeys(UNITS_HZ, "unit") | dict.fromkeys("szy", "kind") | dict.fromkeys(("ri", "ma", "db"), "form")
    at = 0
    while at < len(words):
        if words[at] == "r":
            at += 2
            continue
        if words[at] not in known:
            problems.say(f"{cut(words[at])!r} is nothing of an option line: unit, S, Y or Z, RI, MA or DB", number)
        else:
            found[known[words[at]]] = words[at]
        at += 1
    return found["unit"], found["kind"], found["form"]


def _triple(words: list[str], number: int, problems: Problems) -> tuple[float, float, float]:
    try:
        f, first, second = map(float, words)
        if np.isfinite([f, first, second]).all():
            return f, first, second
    except ValueError:
        pass
    if len(problems.found) <= 25:
        problems.say(f"must be three numbers, a frequency and its value, but got {cut(' '.join(words))!r}", number)
    return 0.0, 0.0, 0.0


def _complex(first: Floats, second: Floats, form: str) -> Complexes:
    """Values (F,) from their two columns."""
    if form == "ri":
        return np.asarray(first + 1j * second)
    size = 10.0 ** (first / 20.0) if form == "db" else first
    return np.asarray(size * np.exp(1j * np.radians(second)))


def _look_over(found: MeasuredImpedance, problems: Problems) -> None:
    """Take note of what no measurement is."""
    f = found.frequency
    if f.size < ROWS_LEAST:
        problems.say(f"has {f.size} frequencies; at least {ROWS_LEAST} are needed to tell a resonance")
        return
    if np.any(np.diff(f) <= 0.0):
        at = int(np.argmax(np.diff(f) <= 0.0))
        problems.say(f"frequencies must rise, but {f[at + 1]:g} Hz follows {f[at]:g}")
    elif f[0] < LOWEST_HZ or f[-1] > HIGHEST_HZ:
        problems.say(f"frequencies lie between {f[0]:g} and {f[-1]:g} Hz; is their unit right?")
    else:
        steps = 1200.0 * np.log2(f[1:] / f[:-1])
        usual = float(np.median(steps))
        if usual > STEP_MOST_CENTS:
            problems.say(f"its frequencies are {usual:.0f} cents apart; a resonance needs {STEP_MOST_CENTS:g} or less")
    if not np.any(found.impedance.imag):
        problems.say("its imaginary part is nothing but zeros; without it no resonance can be told")
