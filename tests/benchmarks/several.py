"""Drafts that truly differ, measured: over pieces of music21's corpus and the examples, how many of --count drafts are had, how
far apart they are pairwise, what they cost above the best, and whether one is unplayable.

One row a piece and line-up: drafts had, least share of spans in which two differ, least share of them in melody, bass or
figure by family or octave, dearest above the best, unplayable findings, seconds.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from io import BytesIO
from itertools import combinations
from pathlib import Path

from autoorch import pipeline
from autoorch.brief import Brief
from autoorch.check import check
from autoorch.pipeline import SCORES
from autoorch.solver.solve import Limits
from autoorch.solver.vary import apart, dearer
from tests.benchmarks.pieces import sketch_file

PIECES = ("k545", "rag", "op19-2", "donna", "mazurka", "bwv269", "bwv846", "polonaise3")
EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
LINEUPS = ("classical", "studio")


def unplayable(result: pipeline.Result, folder: Path) -> int:
    """Findings of the check on the written score."""
    file = BytesIO()
    pipeline.outputs(result)[SCORES[0]](file)
    path = folder / "score.musicxml"
    path.write_bytes(file.getvalue())
    return sum(finding.severity == "unplayable" for finding in check(path).findings)


def main() -> None:
    """Print the rows."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=4)
    parser.add_argument("--seconds", type=float, default=20.0)
    parser.add_argument("--for", dest="lineups", nargs="+", default=LINEUPS)
    parser.add_argument("pieces", nargs="*", default=PIECES, help="short names, or paths of sketches; examples too")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        sketches = [Path(p) if Path(p).exists() else sketch_file(p, folder) for p in asked.pieces]
        if tuple(asked.pieces) == PIECES:
            sketches += sorted(EXAMPLES.glob("*/sketch.musicxml"))
        for sketch in sketches:
            for lineup in asked.lineups:
                start = time.perf_counter()
                first = pipeline.draft(sketch, lineup, brief=Brief(), limits=Limits(seconds=asked.seconds))
                found = pipeline.several(asked.count, first)
                seconds = time.perf_counter() - start
                shares = [
                    apart((one.problem, one.draft), (two.problem, two.draft)) for one, two in combinations(found, 2)
                ]
                title = sketch.parent.name if sketch.stem == "sketch" else sketch.stem
                print(
                    f"{title:24} {lineup:10} {len(found)} of {asked.count}  "
                    f"{min((s for s, _ in shares), default=0):.2f} {min((p for _, p in shares), default=0):.2f}  "
                    f"{max(dearer(first.draft, one.draft) for one in found):+.3f}  "
                    f"{sum(unplayable(one, folder) for one in found)} unplayable  {seconds:.1f} s",
                    flush=True,
                )


if __name__ == "__main__":
    main()
