"""The numbers of constraints/melody.toml ([kinds], [notes], [steps], [signs]) and constraints/voices.toml ([pairs]) made again.

    python -m tests.benchmarks.fitting FOLDER [--what tune --what kinds --what voices] [--kind keyboard] [--half] [--rounds 60]

FOLDER as for tests/benchmarks/reading.py. tune: maximum likelihood of the labelled tunes among all chains, each piece weighing
by its notes, with a penalty on the squares of the standardised weights that was chosen on held-out pieces; every tenth chorale
for hymns. kinds: multinomial logistic regression of the set that a piece comes from. voices: logistic regression of what
follows what in the parts of music21's quartets by Haydn and Mozart, each movement weighing the same, those that `reading`
measures on left out. --half fits on every second piece only, so that `reading --others` measures on pieces never seen. Slow:
about an hour for all tunes, ten minutes for the voices.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice, pairwise
from pathlib import Path

import numpy as np
from music21 import corpus
from scipy.optimize import minimize

from autoorch.roles.chain import BACK, STEPS, Links, likely, links
from autoorch.roles.features import NAMES, Numbers, clock, features
from autoorch.roles.kinds import KINDS, TRAITS, traits
from autoorch.roles.melody import melody_table
from autoorch.roles.singer import SIGNS, signs, twins
from autoorch.roles.texture import Texture, Tone
from autoorch.roles.voices import LOOKS, pairs, voices_table
from autoorch.tables import load_tables
from tests.benchmarks.reading import QUARTETS, Row, made, of_score, pieces

SETS = dict(zip(KINDS, ("sonatas", "songs", "pop", "reductions", "voices"), strict=True))
WHAT = ("tune", "kinds", "voices")
KIND_PENALTY, PAIR_PENALTY = 3e-5, 1e-6
PENALTY = dict(zip(KINDS, (0.2, 0.1, 0.003, 0.003, 0.05), strict=True))
HYMNS = 10
"""Of so many chorales one is fitted on."""


@dataclass
class Labelled:
    """One piece: what its notes look like, its links, and the labelled tune's own sums of looks."""

    looks: Numbers
    ways: Links
    truth: Numbers
    weight: float


def labelled(rows: list[Row], together: float, kind: str) -> Labelled:
    """The piece with the longest chain of its labelled notes; of notes that are the same in all but their label, one."""
    sketch, labels = made(rows)
    texture = Texture(sketch)
    true = {(note.onset, note.end, note.pitch.midi) for note, label in zip(sketch.notes, labels, strict=True) if label}
    time = clock(texture, together)
    looks = np.hstack([features(time), *([signs(time)] if kind == "song" else []), np.ones((len(texture.tones), 1))])
    kept = np.flatnonzero(~twins(time))
    ways = links(time, kept)
    link_of = {pair: k for k, pair in enumerate(zip(ways.first.tolist(), ways.second.tolist(), strict=True))}
    tones = [texture.tones[k] for k in kept]
    notes, steps, fresh, last = [], [], 0, -1
    for k in (k for k, tone in enumerate(tones) if (tone.onset, tone.end, tone.pitch) in true):
        if (last, k) in link_of:
            steps.append(link_of[last, k])
        elif last < 0 or time.end[kept[last]] < time.on[kept[k]] - BACK:
            fresh += 1
        else:
            continue
        notes.append(k)
        last = k
    truth = np.concatenate([looks[kept[notes]].sum(axis=0), ways.looks[steps].sum(axis=0), [fresh]])
    return Labelled(looks[kept], ways, truth, 1 / max(1, len(notes)))


def fit(found: list[Labelled], penalty: float, rounds: int) -> Numbers:
    """Weights of what the notes look like, of STEPS and of a fresh start."""
    every = np.vstack([piece.looks for piece in found])
    mean, spread = every.mean(axis=0), every.std(axis=0) + 1e-6
    mean[-1], spread[-1] = 0, 1
    count, whole = every.shape[1], sum(piece.weight for piece in found)

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
        return float(value), slope

    start = np.zeros(count + len(STEPS) + 1)
    best = minimize(loss, start, jac=True, method="L-BFGS-B", options={"maxiter": rounds}).x
    raw = best[:count] / spread
    raw[-1] = best[count - 1] - (best[: count - 1] * mean[:-1] / spread[:-1]).sum()
    return np.concatenate([raw, best[count:]])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--what", dest="whats", action="append", choices=WHAT, help="only these numbers")
    parser.add_argument("--kind", dest="kinds", action="append", choices=KINDS, help="only this column")
    parser.add_argument("--half", action="store_true", help="only every second piece, from the first on")
    parser.add_argument("--rounds", type=int, default=60, help="steps of the minimiser at most (60)")
    given = parser.parse_args()
    for what in given.whats or WHAT:
        if what == "tune":
            tunes(given)
        elif what == "kinds":
            told("kinds", (*TRAITS, "constant"), kinds(given))
        else:
            told("pairs", (*LOOKS, "constant"), voices(given))


def told(section: str, names: Sequence[str], weights: Numbers) -> None:
    """Rows of TOML; a row of weights makes a list."""
    print(f"[{section}]")
    for name, row in zip(names, weights, strict=True):
        print(f"{name} = {[round(float(x), 2) for x in row] if np.ndim(row) else round(float(row), 2)}")


def kinds(given: argparse.Namespace) -> Numbers:
    """(TRAITS and a constant, KINDS)"""
    together = melody_table(load_tables())["choice"]["together"]
    rows, labels = [], []
    for number, kind in enumerate(KINDS):
        for piece in with_twins(kind, of_kind(kind, given.folder)[:: 2 if given.half else 1]):
            time = clock(Texture(made(piece)[0]), together)
            rows.append([*traits(features(time), time), 1.0])
            labels.append(number)
    looks, truth = np.array(rows), np.eye(len(KINDS))[labels]
    share = 1 / (len(KINDS) * truth.sum(axis=0))  # each kind weighs the same

    def loss(flat: Numbers) -> tuple[float, Numbers]:
        weights = flat.reshape(looks.shape[1], len(KINDS))
        odds = looks @ weights
        whole = np.logaddexp.reduce(odds, axis=1)
        each = (truth * share).sum(axis=1)
        chance = np.exp(odds - whole[:, None])
        value = each @ (whole - (odds * truth).sum(axis=1)) + KIND_PENALTY * (weights[:-1] ** 2).sum()
        slope = looks.T @ (each[:, None] * (chance - truth))
        slope[:-1] += 2 * KIND_PENALTY * weights[:-1]
        return float(value), slope.ravel()

    start = np.zeros(looks.shape[1] * len(KINDS))
    found = minimize(loss, start, jac=True, method="L-BFGS-B", options={"maxiter": 2000}).x
    return np.asarray(found.reshape(looks.shape[1], len(KINDS)))


def voices(given: argparse.Namespace) -> Numbers:
    """LOOKS and a constant."""
    choice = voices_table(load_tables())["choice"]
    works = [
        path
        for composer in ("haydn", "mozart")
        for path in sorted(corpus.getComposer(composer), key=str)
        if not any(kept in Path(path).with_suffix("").as_posix() for kept in QUARTETS)
    ]
    looks, truth, weight = [], [], []
    for path in works[:: 2 if given.half else 1]:
        score = corpus.parse(path)
        if len(score.parts) != 4:
            continue
        sketch, parts = made(of_score(score))
        tones = Texture(sketch).tones
        part_of = dict(zip((note.id for note in sketch.notes), parts, strict=True))
        first, second, found = pairs(tones, choice)
        after = followers([part_of[tone.id] for tone in tones], tones)
        looks.append(np.hstack([found, np.ones((len(found), 1))]))
        truth.append(
            np.array([j in after[i] for i, j in zip(first.tolist(), second.tolist(), strict=True)], dtype=float)
        )
        weight.append(np.full(len(found), 1 / len(found)))
    x, y, each = np.vstack(looks), np.concatenate(truth), np.concatenate(weight) / len(looks)

    def loss(weights: Numbers) -> tuple[float, Numbers]:
        odds = x @ weights
        value = each @ (np.logaddexp(0, odds) - y * odds) + PAIR_PENALTY * weights[:-1] @ weights[:-1]
        slope = x.T @ (each * (1 / (1 + np.exp(-odds)) - y))
        slope[:-1] += 2 * PAIR_PENALTY * weights[:-1]
        return float(value), slope

    found_ = minimize(loss, np.zeros(x.shape[1]), jac=True, method="L-BFGS-B", options={"maxiter": 500})
    return np.asarray(found_.x)


def followers(parts: Sequence[int], tones: Sequence[Tone]) -> list[set[int]]:
    """Of each tone those that begin next in its part."""
    attacks: dict[int, dict[int, list[int]]] = {}
    for k, (part, tone) in enumerate(zip(parts, tones, strict=True)):
        attacks.setdefault(part, {}).setdefault(tone.onset, []).append(k)
    after: list[set[int]] = [set() for _ in tones]
    for onsets in attacks.values():
        for here, then in pairwise(onsets.values()):
            for k in here:
                after[k] = set(then)
    return after


def of_kind(kind: str, folder: Path) -> list[list[Row]]:
    """The pieces of the kind's set; a chorale's tune is its highest part."""
    if kind != "hymn":
        return list(pieces(SETS[kind], folder))
    return [
        [(*row[:3], int(row[3] == 0), None) for row in rows]
        for rows in islice(pieces(SETS[kind], folder), None, None, HYMNS)
    ]


def with_twins(kind: str, rows_of: list[list[Row]]) -> list[list[Row]]:
    """Songs also without the notes that the piano has in common with the voice."""
    if kind != "song":
        return rows_of
    return rows_of + [list({row[:3]: row for row in sorted(rows, key=lambda row: row[3])}.values()) for rows in rows_of]


def tunes(given: argparse.Namespace) -> None:
    """[notes] and [steps], one column for each kind, and [signs] for songs."""
    together = melody_table(load_tables())["choice"]["together"]
    for kind in given.kinds or KINDS:
        rows_of = with_twins(kind, of_kind(kind, given.folder)[:: 2 if given.half else 1])
        weights = fit([labelled(rows, together, kind) for rows in rows_of], PENALTY[kind], given.rounds)
        told(kind, (*NAMES, *(SIGNS if kind == "song" else ()), "constant", *STEPS, "start"), weights)


if __name__ == "__main__":
    main()
