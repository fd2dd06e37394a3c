"""The numbers of constraints/melody.toml ([kinds], [notes], [steps]) and constraints/voices.toml ([pairs]) made again.

    python -m tests.benchmarks.fitting FOLDER [--what tune --what kinds --what voices] [--kind keyboard] [--half] [--rounds 60]

FOLDER as for tests/benchmarks/reading.py. tune: maximum likelihood of the labelled tunes among all chains, each piece weighing
by its notes, with a penalty on the squares of the standardised weights that was chosen on held-out halves. kinds: multinomial
logistic regression of the set that a piece comes from. voices: logistic regression of what follows what in the parts of
music21's quartets by Haydn and Mozart, each movement weighing the same, those that `reading` measures on left out. --half fits
on every second piece only, so that `reading --others` measures on pieces never seen. Slow: about an hour for all tunes,
ten minutes for the voices.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np
from music21 import corpus
from scipy.optimize import minimize

from autoorch.roles.chain import BACK, STEPS, Links, likely, links
from autoorch.roles.features import NAMES, Numbers, clock, features
from autoorch.roles.kinds import KINDS, TRAITS, traits
from autoorch.roles.melody import melody_table
from autoorch.roles.pairs import AGAIN, LOOKS, pairs, second_look
from autoorch.roles.texture import Texture, Tone
from autoorch.roles.voices import followers, likelihoods, voices_table
from autoorch.tables import load_tables
from tests.benchmarks.reading import QUARTETS, Row, made, of_score, pieces

SETS = dict(zip(KINDS, ("sonatas", "songs", "pop", "reductions"), strict=True))
WHAT = ("tune", "kinds", "voices")
KIND_PENALTY, PAIR_PENALTY = 1e-5, 1e-6
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
            for section, names, weights in zip(
                ("pairs", "again"), (LOOKS, (*AGAIN, *LOOKS)), voices(given), strict=True
            ):
                told(section, (*names, "constant"), weights)


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
        for piece in with_twins(kind, list(pieces(SETS[kind], given.folder))[:: 2 if given.half else 1]):
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


def voices(given: argparse.Namespace) -> tuple[Numbers, Numbers]:
    """Weights of LOOKS and a constant; of AGAIN, LOOKS and a constant, at second sight of what the former find."""
    choice = voices_table(load_tables())["choice"]
    works = [
        path
        for composer in ("haydn", "mozart")
        for path in sorted(corpus.getComposer(composer), key=str)
        if not any(kept in Path(path).with_suffix("").as_posix() for kept in QUARTETS)
    ]
    scores = [score for path in works[:: 2 if given.half else 1] if len((score := corpus.parse(path)).parts) == 4]
    found, looks, truth = [], [], []
    for score in scores:
        sketch, parts = made(of_score(score))
        tones = Texture(sketch).tones
        part_of = dict(zip((note.id for note in sketch.notes), parts, strict=True))
        first, second, look = pairs(tones, choice)
        after = next_in_part([part_of[tone.id] for tone in tones], tones)
        truth.append(
            np.array([j in after[i] for i, j in zip(first.tolist(), second.tolist(), strict=True)], dtype=float)
        )
        found.append((tones, first, second))
        looks.append(look)
    once = likeliest(looks, truth)
    weights = dict(zip((*LOOKS, "constant"), once.tolist(), strict=True))
    again = []
    for (tones, first, second), look in zip(found, looks, strict=True):
        chance = likelihoods(look, LOOKS, weights)
        follows = followers(len(tones), first, second, chance - choice["least"])
        again.append(np.hstack([second_look(tones, first, second, chance, follows, choice), look]))
    return once, likeliest(again, truth)


def likeliest(looks: Sequence[Numbers], truth: Sequence[Numbers]) -> Numbers:
    """Logistic regression with a constant, each piece weighing the same."""
    x = np.vstack([np.hstack([found, np.ones((len(found), 1))]) for found in looks])
    y = np.concatenate(truth)
    each = np.concatenate([np.full(len(piece), 1 / len(piece)) for piece in truth]) / len(truth)

    def loss(weights: Numbers) -> tuple[float, Numbers]:
        odds = x @ weights
        value = each @ (np.logaddexp(0, odds) - y * odds) + PAIR_PENALTY * weights[:-1] @ weights[:-1]
        slope = x.T @ (each * (1 / (1 + np.exp(-odds)) - y))
        slope[:-1] += 2 * PAIR_PENALTY * weights[:-1]
        return float(value), slope

    best_ = minimize(loss, np.zeros(x.shape[1]), jac=True, method="L-BFGS-B", options={"maxiter": 800})
    return np.asarray(best_.x)


def next_in_part(parts: Sequence[int], tones: Sequence[Tone]) -> list[set[int]]:
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


def with_twins(kind: str, rows_of: list[list[Row]]) -> list[list[Row]]:
    """Songs also without the notes that the piano has in common with the voice."""
    if kind != "song":
        return rows_of
    return rows_of + [list({row[:3]: row for row in sorted(rows, key=lambda row: row[3])}.values()) for rows in rows_of]


def tunes(given: argparse.Namespace) -> None:
    """[notes] and [steps], one column for each kind."""
    together = melody_table(load_tables())["choice"]["together"]
    for kind in given.kinds or KINDS:
        rows_of = with_twins(kind, list(pieces(SETS[kind], given.folder))[:: 2 if given.half else 1])
        weights = fit([labelled(rows, together) for rows in rows_of], PENALTY[kind], given.rounds)
        told(kind, (*NAMES, "constant", *STEPS, "start"), weights)


if __name__ == "__main__":
    main()
