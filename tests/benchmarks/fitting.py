"""The numbers of constraints/melody.toml ([notes], [steps]) made again from labelled pieces.

    python -m tests.benchmarks.fitting FOLDER [--kind keyboard] [--half] [--rounds 60]

FOLDER as for tests/benchmarks/reading.py. Maximum likelihood of the labelled tunes among all chains, each piece weighing by its
notes, with a penalty on the squares of the standardised weights that was chosen on held-out halves. --half fits on every
second piece only, so that `reading --others` measures on pieces never seen. Slow: about an hour for all kinds.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.optimize import minimize

from autoorch.roles.chain import BACK, STEPS, Links, likely, links
from autoorch.roles.features import NAMES, Numbers, clock, features
from autoorch.roles.kinds import KINDS
from autoorch.roles.melody import melody_table
from autoorch.roles.texture import Texture
from autoorch.tables import load_tables
from tests.benchmarks.reading import made, pieces

SETS = dict(zip(KINDS, ("sonatas", "songs", "pop", "reductions"), strict=True))
PENALTY = dict(zip(KINDS, (0.2, 0.05, 0.003, 0.003), strict=True))


@dataclass
class Labelled:
    """One piece: what its notes look like, its links, and the labelled tune's own sums of looks."""

    looks: Numbers
    ways: Links
    truth: Numbers
    weight: float


def labelled(rows: list, together: float) -> Labelled:  # type: ignore[type-arg]
    """The piece with the longest chain of its labelled notes."""
    sketch, labels = made(rows)
    texture = Texture(sketch)
    by_id = {note.id: label for note, label in zip(sketch.notes, labels, strict=True)}
    time = clock(texture, together)
    looks = np.hstack([features(time), np.ones((len(texture.tones), 1))])
    ways = links(time, np.arange(len(texture.tones)))
    link_of = {pair: k for k, pair in enumerate(zip(ways.first.tolist(), ways.second.tolist(), strict=True))}
    notes, steps, fresh, last = [], [], 0, -1
    for k in (tone.index for tone in texture.tones if by_id[tone.id]):
        if (last, k) in link_of:
            steps.append(link_of[last, k])
        elif last < 0 or time.end[last] < time.on[k] - BACK:
            fresh += 1
        else:
            continue
        notes.append(k)
        last = k
    truth = np.concatenate([looks[notes].sum(axis=0), ways.looks[steps].sum(axis=0), [fresh]])
    return Labelled(looks, ways, truth, 1 / max(1, len(notes)))


def fit(found: list[Labelled], penalty: float, rounds: int) -> Numbers:
    """Weights of NAMES, a constant, STEPS and a fresh start."""
    every = np.vstack([piece.looks for piece in found])
    mean, spread = every.mean(axis=0), every.std(axis=0) + 1e-6
    mean[-1], spread[-1] = 0, 1
    count, whole = len(NAMES) + 1, sum(piece.weight for piece in found)

    def loss(weights: Numbers) -> tuple[float, Numbers]:
        value, slope = penalty * weights @ weights, 2 * penalty * weights
        for piece in found:
            looks = (piece.looks - mean) / spread
            truth = piece.truth.copy()
            notes = piece.truth[count - 1]
            truth[:count] = (truth[:count] - notes * mean) / spread
            total, chance, step, fresh = likely(
                piece.ways, looks @ weights[:count], piece.ways.looks @ weights[count:-1], weights[-1]
            )
            share = piece.weight / whole
            value += share * (total - truth @ weights)
            slope += share * (np.concatenate([chance @ looks, step @ piece.ways.looks, [fresh]]) - truth)
        return value, slope

    start = np.zeros(count + len(STEPS) + 1)
    best = minimize(loss, start, jac=True, method="L-BFGS-B", options={"maxiter": rounds}).x
    raw = best[:count] / spread
    raw[-1] = best[count - 1] - (best[: count - 1] * mean[:-1] / spread[:-1]).sum()
    return np.concatenate([raw, best[count:]])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--kind", dest="kinds", action="append", choices=KINDS, help="only this column")
    parser.add_argument("--half", action="store_true", help="only every second piece, from the first on")
    parser.add_argument("--rounds", type=int, default=60, help="steps of the minimiser at most (60)")
    given = parser.parse_args()
    together = melody_table(load_tables())["choice"]["together"]
    for kind in given.kinds or KINDS:
        rows_of = list(pieces(SETS[kind], given.folder))[:: 2 if given.half else 1]
        if kind == "song":  # with and without the notes that the piano has in common with the voice
            rows_of += [
                list({row[:3]: row for row in sorted(rows, key=lambda row: row[3])}.values()) for rows in rows_of
            ]
        weights = fit([labelled(rows, together) for rows in rows_of], PENALTY[kind], given.rounds)
        print(f"[{kind}]")
        for name, value in zip((*NAMES, "constant", *STEPS, "start"), weights, strict=True):
            print(f"{name} = {value:.2f}")


if __name__ == "__main__":
    main()
