"""What a note's doubt comes to with a bore that errs stretch by stretch, against one tolerance for all of it.

`.venv/bin/python tests/benchmarks/bore_doubt.py configs/*.toml`. Each project is solved once for tuning. "In one": the
whole bore errs as one printed piece, vents as printed holes. Median over the main notes that sound; shares are of
their variances summed.
"""

import argparse
from pathlib import Path

import numpy as np

from optimizer.geometry.build import Build
from optimizer.project.loading import load_project
from optimizer.records.layout import LayoutRecord
from optimizer.search.proposals import Proposal
from optimizer.search.trial import Solver
from optimizer.solving.linearised import Emphasis
from optimizer.solving.real_resonances import record_build, record_duct
from optimizer.solving.uncertainty import Spread, note_spread, variance_shares


def spread(record: LayoutRecord, build: Build) -> Spread:
    """Doubt of a layout's main notes that sound."""
    notes = [note for note in record.notes if note.frequency_hz is not None and not note.alternate]
    columns = [[getattr(note, name) for note in notes] for name in ("openness", "frequency_hz", "quality")]
    openness, frequency, quality = (np.array(column, float) for column in columns)
    return note_spread(record_duct(record), openness, frequency, quality, record.reference.uncertainty, build)


def bores(found: Spread) -> str:
    """Shares of the bore's stretches from 1 %, pieces by their number."""
    shares = [share for share in variance_shares(found.by_source, found.sources) if share.percent >= 0.5]
    bore = [share for share in shares if share.name.startswith("bore of")]
    return ", ".join(f"{share.name.removeprefix('bore of ')} {share.percent:.0f}" for share in bore) or "below 0.5"


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("projects", type=Path, nargs="+")
    print("| instrument | in one, cents | bore, % | by stretch, cents | bore, % |\n| --- | --- | --- | --- | --- |")
    for project in options.parse_args().projects:
        loaded = load_project(project)
        asked = Proposal(0, Emphasis(1.0, stretch=0.03, unevenness=0.03), 1.0, 0.0, 1)
        record = LayoutRecord.model_validate_json(Solver(loaded.text, loaded.source).solve(asked).record_json)
        count = len(record.holes)
        one, apart = (
            spread(record, build)
            for build in (
                Build(holes=tuple(hole.id for hole in record.holes), lined=(False,) * count),
                record_build(record),
            )
        )
        print(f"| {record.instrument} | {np.median(one.total):.1f} | {bores(one)} | {np.median(apart.total):.1f} "
              f"| {bores(apart)} |", flush=True)  # fmt: skip


if __name__ == "__main__":
    main()
