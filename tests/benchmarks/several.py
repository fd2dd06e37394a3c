"""Drafts that truly differ, measured: over pieces of music21's corpus and the examples, how many of --count drafts are had, how
far apart they are pairwise, what they cost above the best, and whether one is unplayable.

One row a piece and line-up: drafts had, least share of spans in which two differ, least share of them in melody, bass or
figure by family or octave, least share of the melody so (as the solver counts, who was asked for them), least share of the
attacks in the written scores that the other draft has not on the same instrument, and not in the same family, at the same
pitch; dearest above the best, unplayable findings, processor seconds. The last line is about all rows.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections import Counter
from dataclasses import dataclass
from fractions import Fraction
from io import BytesIO
from itertools import combinations
from pathlib import Path

from autoorch import delivery, pipeline, several
from autoorch.brief import Brief
from autoorch.check import check
from autoorch.delivery import SCORES
from autoorch.solver.solve import Limits
from autoorch.solver.vary import apart, dearer, own_cost
from tests.benchmarks.heard import hear
from tests.benchmarks.pieces import sketch_file

PIECES = ("k545", "rag", "op19-2", "donna", "mazurka", "bwv269", "bwv846", "polonaise3")
EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
LINEUPS = ("classical", "studio")
Attacks = Counter[tuple[str, Fraction, int]]
"""(instrument or family, onset in quarters, sounding pitch) -> how many."""


def written(result: pipeline.Result, folder: Path) -> tuple[int, Attacks, Attacks]:
    """(unplayable findings, attacks by instrument, by family) of the written score."""
    file = BytesIO()
    delivery.outputs(result)[SCORES[0]](file)
    path = folder / "score.musicxml"
    path.write_bytes(file.getvalue())
    faults = sum(finding.severity == "unplayable" for finding in check(path).findings)
    instruments: Attacks = Counter()
    families: Attacks = Counter()
    players = {part.id: part.player.instrument for part in result.score.parts}
    for part, heard in hear(path).items():
        for onset, pitches in heard.attacks.items():
            instruments.update((players[part].id, onset, pitch) for pitch in pitches)
            families.update((players[part].family, onset, pitch) for pitch in pitches)
    return faults, instruments, families


def other_attacks(one: Attacks, two: Attacks) -> float:
    """Share of the attacks of the fuller of two drafts that the other has not."""
    return 1 - (one & two).total() / max(one.total(), two.total())


@dataclass(frozen=True)
class Row:
    """One piece for one line-up.

    Attributes:
        had: drafts.
        spans, principal, tune: least share of two of them, as `apart` counts; instruments, families: least share of other
            attacks in the written scores.
        dearer: the dearest above the cheapest, as a share of it.
        unplayable: findings in all of them.
        seconds: of the processor.
    """

    title: str
    lineup: str
    had: int
    spans: float
    principal: float
    tune: float
    instruments: float
    families: float
    dearer: float
    unplayable: int
    seconds: float

    def __str__(self) -> str:
        return (
            f"{self.title:24} {self.lineup:10} {self.had}  {self.spans:.2f} {self.principal:.2f} {self.tune:.2f}  "
            f"{self.instruments:.2f} {self.families:.2f}  {self.dearer:+.3f}  {self.unplayable} unplayable  {self.seconds:.1f} s"
        )


def measured(sketch: Path, lineup: str, count: int, effort: float, folder: Path) -> Row:
    """One row."""
    start = time.process_time()
    first = pipeline.draft(sketch, lineup, brief=Brief(), limits=Limits(seconds=effort))
    found = several.several(count, first)
    seconds = time.process_time() - start
    shares = [apart((one.problem, one.draft), (two.problem, two.draft)) for one, two in combinations(found, 2)]
    scores = [written(one, folder) for one in found]
    best = min((one.draft for one in found), key=own_cost)
    return Row(
        sketch.parent.name if sketch.stem == "sketch" else sketch.stem,
        lineup,
        len(found),
        *(min((share[which] for share in shares), default=0.0) for which in range(3)),
        min((other_attacks(one, two) for (_, one, _), (_, two, _) in combinations(scores, 2)), default=0.0),
        min((other_attacks(one, two) for (_, _, one), (_, _, two) in combinations(scores, 2)), default=0.0),
        max(dearer(best, one.draft) for one in found),
        sum(faults for faults, _, _ in scores),
        seconds,
    )


def main() -> None:
    """Print the rows, and what holds over all of them."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=4)
    parser.add_argument("--seconds", type=float, default=10.0)
    parser.add_argument("--for", dest="lineups", nargs="+", default=LINEUPS)
    parser.add_argument("pieces", nargs="*", default=PIECES, help="short names, or paths of sketches; examples too")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        sketches = [Path(p) if Path(p).exists() else sketch_file(p, folder) for p in asked.pieces]
        if tuple(asked.pieces) == PIECES:
            sketches += sorted(EXAMPLES.glob("*/sketch.musicxml"))
        rows = []
        for sketch in sketches:
            for lineup in asked.lineups:
                rows.append(measured(sketch, lineup, asked.count, asked.seconds, folder))
                print(rows[-1], flush=True)
        several = [row for row in rows if row.had > 1]
        print(
            f"{sum(row.had == asked.count for row in rows)} of {len(rows)} with {asked.count} drafts; "
            f"least apart {min(row.spans for row in several):.2f} {min(row.principal for row in several):.2f} "
            f"{min(row.tune for row in several):.2f}, "
            f"in the written scores {min(row.instruments for row in several):.2f} by instrument, "
            f"{min(row.families for row in several):.2f} by family; "
            f"dearest {max(row.dearer for row in rows):+.3f}; {sum(row.unplayable for row in rows)} unplayable; "
            f"{sum(row.seconds for row in rows):.0f} s of the processor"
        )


if __name__ == "__main__":
    main()
