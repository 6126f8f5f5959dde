"""What `tolerance` does, once parsed."""

import argparse
import math
import sys
import time
from collections.abc import Callable

import numpy as np

from optimizer import cautions
from optimizer.analysis.reaming import reaming
from optimizer.analysis.sensitivity import (
    QUANTILE_ERROR,
    Sensitivity,
    chance_within,
    drawn_band,
    drawn_cents,
    linear_band,
    normal_draws,
    sensitivity,
    variance_shares,
)
from optimizer.commands.search import Complain, Files, show_and_write
from optimizer.geometry.deviations import AS_A_WHOLE, PER_HOLE
from optimizer.project.model import PRINTED_SIZES, Uncertainty
from optimizer.records.chosen import chosen_layout
from optimizer.records.layout import LayoutRecord, RecordError, Reference, write_record, write_text
from optimizer.records.tolerance import DeviationRecord, NoteTolerance, ToleranceRecord
from optimizer.solving.merit import robustness
from optimizer.views.drawings.bands import tolerance_svg
from optimizer.views.progress import clock
from optimizer.views.tolerance_tables import show_tolerance

FEWEST, MOST = 20, 100_000
EVERY_SECONDS = 10.0

Told = Callable[[int, int], None]


def run_tolerance(options: argparse.Namespace, complain: Complain) -> int:
    """`tolerance`: what making and playing do to a layout's notes; exit code 0 done, 2 something to mend."""
    problems = _option_problems(options)
    if problems:
        return complain("options to mend", problems)
    try:
        record = chosen_layout(options.path, options.layout, feasible=True)
        found = tolerance(record, options.samples, options.seed, options.within, options.worth, _Progress())
    except (RecordError, ValueError) as error:
        return complain("cannot tell what becomes of this", [str(error)])
    files: Files = (
        (options.json, lambda path: write_record(path, found)),
        (options.svg, lambda path: write_text(path, tolerance_svg(found))),
    )
    return show_and_write(lambda screen: show_tolerance(screen, found), files, complain)


def _option_problems(options: argparse.Namespace) -> list[str]:
    problems = []
    if not FEWEST <= options.samples <= MOST:
        problems.append(f"--samples must be between {FEWEST} and {MOST}, but got {options.samples}")
    if not 0 <= options.seed < 2**32:
        problems.append(f"--seed must be at least 0 and below {2**32}, but got {options.seed}")
    if not 0.0 < options.within <= 1200.0:
        problems.append(f"--within must be more than 0 and at most 1200 cents, but got {options.within:g}")
    if not 0.0 < options.worth <= 100.0:
        problems.append(f"--worth must be more than 0 and at most 100 cents, but got {options.worth:g}")
    return problems


class _Progress:
    """A line on standard error now and then, of draws that take long."""

    def __init__(self) -> None:
        self.begun = self.said = time.monotonic()

    def __call__(self, done: int, of: int) -> None:
        now = time.monotonic()
        if now - self.said < EVERY_SECONDS or done >= of:
            return
        self.said, elapsed = now, now - self.begun
        left = elapsed / done * (of - done)
        print(f"{clock(elapsed)} elapsed, about {clock(left)} to go | {done} of {of} computed", file=sys.stderr)


def tolerance(
    record: LayoutRecord, samples: int, seed: int, within: float, worth: float, told: Told | None = None
) -> ToleranceRecord:
    """A layout over all that may deviate.

    Raises
    ------
    ValueError
        for a layout that does not sound, and for deviations that leave a hole without size
    """
    layout = sensitivity(record)
    draws = normal_draws(samples, len(layout.may.names), seed)
    drawn, linear = drawn_cents(layout, draws, told), layout.cents + draws @ layout.by.T
    main = layout.main
    return ToleranceRecord(
        instrument=record.instrument,
        layout=record.id,
        samples=samples,
        seed=seed,
        sd_error=1.0 / math.sqrt(2.0 * (samples - 1)),
        quantile_error=QUANTILE_ERROR / math.sqrt(samples),
        deviations=deviation_records(record.reference, record.printing.tolerance_mm if record.printing else None),
        notes=_note_records(layout, drawn),
        left_out=layout.left_out,
        robustness_cents=robustness(list(layout.spread.making), list(~main)),
        chance=chance_within(drawn[:, main], linear[:, main], within),
        shares=variance_shares(layout.by[main], layout.may.names),
        worth_cents=worth,
        hole_undersize_mm=record.printing.hole_undersize_mm if record.printing else None,
        holes=reaming(record, layout, worth),
        cautions=[cautions.PRINTING, cautions.WORKING],
    )


def _note_records(layout: Sensitivity, drawn: np.ndarray) -> list[NoteTolerance]:
    spread = layout.spread
    return [
        NoteTolerance(
            written=note.written,
            sounding=note.sounding,
            register_number=note.register_number,
            alternate=note.alternate,
            cents=float(layout.cents[n]),
            making_sd_cents=float(spread.making[n]),
            playing_sd_cents=float(spread.playing[n]),
            model_sd_cents=float(spread.model[n]),
            linear=linear_band(float(layout.cents[n]), float(np.hypot(spread.making[n], spread.playing[n]))),
            drawn=drawn_band(drawn[:, n]),
        )
        for n, note in enumerate(layout.notes)
    ]


def deviation_records(reference: Reference, tolerance_mm: float | None) -> list[DeviationRecord]:
    """The deviations in force with where each figure comes from; a record tells no default from the same figure
    stated."""
    words = {kind: (f"{word} of a hole", "hole by hole") for kind, word in PER_HOLE.items()}
    words |= {kind: (word, "as a whole") for kind, word in AS_A_WHOLE.items()}
    return [
        DeviationRecord(
            kind=word,
            sd=getattr(reference.uncertainty, kind),
            unit="mm" if kind.endswith("_mm") else "%" if kind.endswith("_percent") else "degC",
            varies=varies,
            source=_source(kind, reference, tolerance_mm),
        )
        for kind, (word, varies) in words.items()
    ]


def _source(kind: str, reference: Reference, tolerance_mm: float | None) -> str:
    if kind in reference.uncertainty_from_tolerance:
        stated = "" if tolerance_mm is None else f" of {tolerance_mm:g} mm"
        return f"half of the printer's tolerance{stated}: common practice, no source"
    if getattr(reference.uncertainty, kind) != Uncertainty.model_fields[kind].default:
        return "stated in the project"
    common = kind in PRINTED_SIZES or kind == "shrinkage_percent"
    return "the default: common practice for printed parts, no source" if common else "the default: an estimate"
