"""The numbers of constraints/melody.toml ([kinds], [notes], [steps], [signs], [again]) and constraints/voices.toml ([pairs]) made
again.

    python -m tests.benchmarks.fitting FOLDER [--what tune --what again --what kinds --what voices] [--kind keyboard] [--half]
                                              [--rounds 60]

FOLDER as for tests/benchmarks/reading.py. tune: maximum likelihood of the labelled tunes among all chains, each piece weighing
by its notes, with a penalty on the squares of the standardised weights that was chosen on held-out pieces; every tenth chorale
for hymns. again: logistic regression of the songs' tunes on what a second pass sees, each song weighing the same, the first pass
fitted without the composer; says too what is reached on composers whom neither pass has seen. kinds: multinomial logistic
regression of the set that a piece comes from. voices: logistic regression of what follows what in the parts of music21's quartets
by Haydn and Mozart, each movement weighing the same, those that `reading` measures on left out. --half fits on every second piece
only, so that `reading --others` measures on pieces never seen (again takes every song). Slow: an hour for all tunes, another
for the second pass, ten minutes for the voices.
"""

from __future__ import annotations

import argparse
import csv
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import islice, pairwise
from pathlib import Path
from typing import Any

import numpy as np
from music21 import corpus
from scipy.optimize import minimize

from autoorch.roles.again import AGAIN
from autoorch.roles.chain import BACK, STEPS, Links, best_expected, likely, links
from autoorch.roles.features import NAMES, Indices, Numbers, clock, features
from autoorch.roles.kinds import KINDS, TRAITS, traits
from autoorch.roles.melody import SONG, first_pass, melody_table, seen_again
from autoorch.roles.pairs import LOOKS, pairs
from autoorch.roles.singer import SIGNS, signs, twins
from autoorch.roles.texture import Texture, Tone
from autoorch.roles.voices import voices_table
from autoorch.tables import load_tables
from tests.benchmarks.reading import QUARTETS, Row, f1, made, of_score, pieces

SETS = dict(zip(KINDS, ("sonatas", "songs", "pop", "reductions", "voices"), strict=True))
WHAT = ("tune", "again", "kinds", "voices")
KIND_PENALTY, PAIR_PENALTY, AGAIN_PENALTY = 3e-5, 1e-6, 1e-3
FOLDS = 5
"""Parts that the songs' composers are dealt into."""
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
        elif what == "again":
            told("again", (*AGAIN, "constant"), again(given))
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


def again(given: argparse.Namespace) -> Numbers:
    """AGAIN and a constant."""
    table = melody_table(load_tables())
    together, kind = table["choice"]["together"], np.eye(len(KINDS))[SONG]
    songs, fold_of = of_kind("song", given.folder), dealt(composers(given.folder))
    seen = []
    for fold in range(FOLDS):
        known = [rows for rows, own in zip(songs, fold_of, strict=True) if own != fold]
        weights = fit(
            [labelled(rows, together, "song") for rows in with_twins("song", known)], PENALTY["song"], given.rounds
        )
        fitted = with_column(table, "song", weights)
        for rows in (rows for rows, own in zip(songs, fold_of, strict=True) if own == fold):
            sketch, labels = made(rows)
            texture = Texture(sketch)
            time = clock(texture, together)
            kept, ways, chance = first_pass(texture, time, features(time), kind, fitted)
            every, looks = seen_again(time, kept, chance)
            same = list(zip(time.on.tolist(), time.end.tolist(), time.pitch.tolist(), strict=True))
            id_label = dict(zip((note.id for note in sketch.notes), labels, strict=True))
            true = {key for key, tone in zip(same, texture.tones, strict=True) if id_label[tone.id]}
            truth = np.array([key in true for key in same], dtype=float)
            seen.append(Seen(fold, looks, truth[every], np.searchsorted(every, kept), ways))
    scores = []
    for fold in range(FOLDS):
        weights = logistic([song for song in seen if song.fold != fold])
        for song in (song for song in seen if song.fold == fold):
            chance = 1 / (1 + np.exp(-song.looks @ weights[:-1] - weights[-1]))
            chosen = song.kept[best_expected(song.ways, chance[song.kept], table["choice"]["least"][SONG])]
            scores.append(f1(int(song.truth[chosen].sum()), len(chosen), int(song.truth.sum())))
    print(f"# composers not seen: note F1 {np.mean(scores):.3f}, kind of music given")
    return logistic(seen)


@dataclass
class Seen:
    """One song: what the second pass sees of its tones, their labels, those that the first pass kept and their links."""

    fold: int
    looks: Numbers
    truth: Numbers
    kept: Indices
    ways: Links


def logistic(songs: Sequence[Seen]) -> Numbers:
    """Weights and a constant."""
    x, y = np.vstack([song.looks for song in songs]), np.concatenate([song.truth for song in songs])
    each = np.concatenate([np.full(len(song.truth), 1 / song.truth.sum()) for song in songs]) / len(songs)
    mean, spread = x.mean(axis=0), x.std(axis=0) + 1e-6
    x = np.hstack([(x - mean) / spread, np.ones((len(x), 1))])

    def loss(weights: Numbers) -> tuple[float, Numbers]:
        odds = x @ weights
        value = each @ (np.logaddexp(0, odds) - y * odds) + AGAIN_PENALTY * weights[:-1] @ weights[:-1]
        slope = x.T @ (each * (1 / (1 + np.exp(-odds)) - y))
        slope[:-1] += 2 * AGAIN_PENALTY * weights[:-1]
        return float(value), slope

    found = minimize(loss, np.zeros(x.shape[1]), jac=True, method="L-BFGS-B", options={"maxiter": 500}).x
    raw = found[:-1] / spread
    return np.append(raw, found[-1] - raw @ mean)


def composers(folder: Path) -> list[str]:
    """Of each song, from the set's index."""
    with (folder / "melody" / "songs" / "INDEX.tsv").open(encoding="utf-8", newline="") as file:
        return [path.split("/")[0] for _, path in islice(csv.reader(file, delimiter="\t"), 1, None)]


def dealt(names: Sequence[str]) -> list[int]:
    """A part for each name, the same for the same name, the parts about equal."""
    counts, sizes, part_of = Counter(names), [0] * FOLDS, {}
    for name in sorted(counts, key=lambda name: (-counts[name], name)):
        part_of[name] = min(range(FOLDS), key=lambda part: (sizes[part], part))
        sizes[part_of[name]] += counts[name]
    return [part_of[name] for name in names]


def with_column(table: Mapping[str, Any], kind: str, weights: Numbers) -> dict[str, Any]:
    """The table with the weights of a kind of music put in, as `tunes` finds them."""
    number, found = KINDS.index(kind), dict(zip(tune_names(kind), weights.tolist(), strict=True))
    rows = {
        section: {name: [*row[:number], found[name], *row[number + 1 :]] for name, row in table[section].items()}
        for section in ("notes", "steps")
    }
    return {**table, **rows, "signs": {name: found.get(name, value) for name, value in table["signs"].items()}}


def tune_names(kind: str) -> tuple[str, ...]:
    """The weights that `fit` finds, in order."""
    return (*NAMES, *(SIGNS if kind == "song" else ()), "constant", *STEPS, "start")


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
        told(kind, tune_names(kind), weights)


if __name__ == "__main__":
    main()
