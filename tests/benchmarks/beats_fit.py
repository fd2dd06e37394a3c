"""The weights by which bars are found in played MIDI, fitted: [worth] and [places] of constraints/beats.toml.

Each training piece is cut into stretches; in each, every metre and phase over every pulse of the take is a reading, whose
evidence adds up. The weights make the right readings likely among all (a conditional log-linear model, fitted by maximum
likelihood less a squared penalty: Berger, Della Pietra and Della Pietra, Computational Linguistics 22, 1996). A kind of place
shares the weights of its level (middle, beat, half bar, bar line) and departs from them at a higher penalty.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

import mir_eval  # type: ignore[import-untyped]
import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from autoorch.sketch.midi.evidence import FEATURES, Evidence
from autoorch.sketch.midi.metre import COSTS, PLACES, States, charges
from autoorch.sketch.midi.played import observe
from tests.benchmarks.played_pieces import CHECKED, FRESH, LATEST, PIECES, Played, played

Array = NDArray[np.float64]
SECONDS, MOST, BARS = 45.0, 4, 4
"""Length of a stretch, stretches of a piece at most, bars of one at least."""
WINDOW, NEAR, USABLE, BAR_WORTH = 0.07, 0.1, 0.75, 2.0
"""Seconds of a hit; how much worse than the best a right reading may be (beat F + BAR_WORTH * bar F); bar F that some
reading must reach."""
PENALTY, APART, LOOSE, ROUNDS = 0.3, 0.9, 0.09, 100
"""Of a squared weight of a level, of a departure from it, of a charge, chosen by cross-validation; steps of the search."""
LEVELS = {"middle": (1, 2, 3), "beat": (4, 5, 6, 7, 9), "half": (8,), "bar": (10, 11, 12)}
"""Kinds of place by level."""
SCALES = {"line": 20.0} | dict.fromkeys(("new_bar", "new_half", "new_beat", "new_two"), 5.0)
SCALES |= dict.fromkeys(("start_upbeat", "start_half", "start_late", "end_inside"), 1.0)
USUAL, SEEN = 100.0, 10.0
"""Units in which a charge (SCALES, else USUAL) and an observation are penalised."""
RELATED = (
    "bach/bwv120.8-a", "bach/bwv248.9-1", "bach/bwv433", "bach/bwv8.6", "monteverdi/madrigal.3.11",
    "monteverdi/madrigal.3.17", "monteverdi/madrigal.3.20", "monteverdi/madrigal.3.5", "monteverdi/madrigal.4.10",
    "monteverdi/madrigal.4.15", "monteverdi/madrigal.4.20", "monteverdi/madrigal.5.7",
    "trecento/PMFC_01-Virtutibus laudabilis", "trecento/PMFC_06_Giovanni-03-Chon_brachi_assai",
    "trecento/PMFC_12_13-Credo London f83-85", "trecento/PMFC_12_22-Benedicamus PMFC12.22",
    "trecento/PMFC_13_01-Kyrie-Summe-Clementissime", "trecento/PMFC_13_06-Gloria Fior Gentil",
    "trecento/PMFC_13_15-Gloria", "trecento/PMFC_23_18-Kyrie Chipre", "trecento/PMFC_23_24-Kyrie Ave Desiderii",
    "trecento/PMFC_24_20-Padu... serenans",
)  # fmt: skip
"""With the parts of the benchmark but the last, and songs: trained on at full weight, their first 80 bars."""
OTHERS = (
    "bach/bwv120.6", "bach/bwv121.6", "bach/bwv125.6", "bach/bwv127.5", "bach/bwv133.6", "bach/bwv135.6",
    "bach/bwv136.6", "bach/bwv137.5", "bach/bwv140.7", "bach/bwv144.6", "bach/bwv145.5", "bach/bwv148.6",
    "bach/bwv153.5", "bach/bwv154.3", "bach/bwv156.6", "bach/bwv159.5", "bach/bwv169.7", "bach/bwv174.5",
    "bach/bwv178.7", "bach/bwv183.5", "bach/bwv19.7", "bach/bwv197.5", "bach/bwv227.3", "bach/bwv244.10",
    "bach/bwv244.44", "bach/bwv245.11", "bach/bwv245.22", "bach/bwv245.26", "bach/bwv248.23-s", "bach/bwv248.28",
    "bach/bwv248.35-3c", "bach/bwv259", "bach/bwv26.6", "bach/bwv264", "bach/bwv269", "bach/bwv271", "bach/bwv287",
    "bach/bwv296", "bach/bwv30.6", "bach/bwv314", "bach/bwv324", "bach/bwv325", "bach/bwv327", "bach/bwv328",
    "bach/bwv332", "bach/bwv339", "bach/bwv342", "bach/bwv348", "bach/bwv360", "bach/bwv363", "bach/bwv364",
    "bach/bwv369", "bach/bwv371", "bach/bwv377", "bach/bwv380", "bach/bwv384", "bach/bwv388", "bach/bwv39.7",
    "bach/bwv392", "bach/bwv393", "bach/bwv395", "bach/bwv396", "bach/bwv399", "bach/bwv40.3", "bach/bwv40.6",
    "bach/bwv401", "bach/bwv402", "bach/bwv403", "bach/bwv414", "bach/bwv419", "bach/bwv423", "bach/bwv424",
    "bach/bwv429", "bach/bwv48.7", "bach/bwv59.3", "bach/bwv6.6", "bach/bwv67.4", "bach/bwv72.6", "bach/bwv83.5",
    "bach/bwv97.9", "monteverdi/madrigal.3.1", "monteverdi/madrigal.3.10", "monteverdi/madrigal.3.13",
    "monteverdi/madrigal.3.18", "monteverdi/madrigal.3.4", "monteverdi/madrigal.3.9", "monteverdi/madrigal.4.1",
    "monteverdi/madrigal.4.12", "monteverdi/madrigal.4.13", "monteverdi/madrigal.4.18", "monteverdi/madrigal.4.3",
    "monteverdi/madrigal.4.5", "monteverdi/madrigal.4.9", "monteverdi/madrigal.5.3", "palestrina/Agnus_I_14",
    "palestrina/Agnus_I_23", "palestrina/Agnus_I_30", "palestrina/Benedictus_00", "palestrina/Credo_53_c",
    "palestrina/Credo_70_g", "palestrina/Credo_71_f", "palestrina/Credo_87_a", "palestrina/Credo_92_b",
    "palestrina/Gloria_82_b", "palestrina/Kyrie_100", "palestrina/Kyrie_45_b", "palestrina/Sanctus_12_a",
    "palestrina/Sanctus_30_a", "palestrina/Sanctus_39", "palestrina/Sanctus_56_a", "trecento/PMFC_06_8-In Verde Prato",
    "trecento/PMFC_06_Giovanni-07_In_Sulla_Ripa", "trecento/PMFC_06_Giovanni-09_Nascoso_El_Viso",
    "trecento/PMFC_12_1-Kyrie Rondello", "trecento/PMFC_12_14-Credo Phillippoctus",
    "trecento/PMFC_12_18-Sanctus Mediolano", "trecento/PMFC_12_21-Benedicamus PMFC12.21",
    "trecento/PMFC_12_24-Benedicamus", "trecento/PMFC_13_10-Gloria", "trecento/PMFC_13_12-Gloria",
    "trecento/PMFC_13_19-Credo Scabroso", "trecento/PMFC_23_15b-Kyrie Humano Generi b",
    "trecento/PMFC_23_22-Kyrie Summe Clementissime", "trecento/PMFC_24_5-Gloria_Spiritus_et_alme",
)  # fmt: skip
"""Drawn by seed from what was left of four folders, much of one kind: a quarter of the weight, their first 64 bars."""
RELATED_BARS, OTHERS_BARS, OTHERS_WEIGHT = 80, 64, 0.25
Stretch = tuple[NDArray[np.float32], Array]


def stretches(piece: Played, table: Mapping[str, Any]) -> list[Stretch]:
    """(what bears on each reading, beat F + BAR_WORTH * bar F of each) of each stretch that some reading gets right."""
    rows = sorted(piece.attacks)
    onsets, ends = (np.array([row[k] for row in rows]) for k in (0, 1))
    evidence = observe(onsets, ends, np.array([key for _, _, key in rows]), table)
    states = States(table["metre"])
    first, last = piece.beats[0] - 2, max(float(onsets[-1]), piece.beats[-1]) + 1
    count = int(np.clip(round(float(onsets[-1]) / SECONDS), 1, MOST))
    borne = [charges(each, states, table["metre"]) for each in evidence]
    found = []
    for low in first + np.arange(count) * (last - first) / count:
        high = low + (last - first) / count
        beats, bars = ([t for t in times if low <= t < high] for times in (piece.beats, piece.downbeats))
        if len(bars) < BARS:
            continue
        sums, marks = [], []
        for each, costs in zip(evidence, borne, strict=True):
            seconds = np.interp(np.arange(len(each.seen)) / 2, np.arange(len(each.pulse)), each.pulse)
            start, stop = (int(k) for k in np.searchsorted(seconds, (low, high)))
            sums.append(_sums(each, costs, states, start, stop))
            after = np.where(seconds[start:stop] > beats[0] - WINDOW, seconds[start:stop], np.nan)
            marks.append(_marks(after, states, start, beats, bars))
        worth = np.concatenate(marks)
        if worth[:, 1].max() >= USABLE:
            found.append((np.concatenate(sums), worth[:, 0] + BAR_WORTH * worth[:, 1]))
    return found


def _sums(each: Evidence, costs: Mapping[str, Array], states: States, start: int, stop: int) -> NDArray[np.float32]:
    """What bears on each reading: an array (readings, PLACES * FEATURES + COSTS). A reading is a place at `start`."""
    seen = each.seen[start:stop]
    span = np.arange(stop - start)
    full = {name: np.broadcast_to(costs[name], (len(each.seen), len(states.kind)))[start:stop] for name in COSTS}
    rows = []
    for low, high in zip(states.starts, states.lasts, strict=True):
        size = int(high - low + 1)
        folded = np.stack([seen[r::size].sum(0) for r in range(size)])
        residues = {
            name: np.stack([array[r::size, low : high + 1].sum(0) for r in range(size)]) for name, array in full.items()
        }
        for place in range(size):
            at = (place + span[:size]) % size
            here = np.pad(at, (0, max(0, size - len(at))))[:size]
            kinds = np.zeros((len(PLACES), len(FEATURES)))
            np.add.at(kinds, states.kind[low + here], folded)
            rows.append(np.r_[kinds.ravel(), [residues[name][np.arange(size), here].sum() for name in COSTS]])
    return np.array(rows, dtype=np.float32)


def _marks(seconds: Array, states: States, start: int, beats: list[float], bars: list[float]) -> Array:
    """Beat F and bar F of each reading."""
    known: dict[tuple[int, int, int], float] = {}

    def score(truth: list[float], step: int, first: int, kind: int) -> float:
        if (kind, step, first) not in known:
            found = seconds[first::step]
            known[kind, step, first] = float(
                mir_eval.beat.f_measure(np.array(truth), found[~np.isnan(found)], f_measure_threshold=WINDOW)
            )
        return known[kind, step, first]

    return np.array([
        (score(beats, int(beat), int(left % beat), 0), score(bars, int(size), int(left), 1))
        for beat, size, left in zip(states.beat, states.size, states.left, strict=True)
    ])  # fmt: skip


def fit(pieces: Iterable[tuple[list[Stretch], float]], rounds: int = ROUNDS) -> tuple[Array, dict[str, float]]:
    """Weights (FEATURES, PLACES) against the first kind of place, and of COSTS; `pieces` come with their weights."""
    spread = np.zeros((len(LEVELS), len(PLACES)))
    for row, kinds in zip(spread, LEVELS.values(), strict=True):
        row[list(kinds)] = 1
    several = [k for kinds in LEVELS.values() if len(kinds) > 1 for k in kinds]
    scale = np.array([SCALES.get(name, USUAL) for name in COSTS])
    cells, own = len(PLACES) * len(FEATURES), len(FEATURES)
    data = []
    for piece, weight in pieces:
        for sums, worth in piece:
            parted = sums[:, :cells].reshape(-1, len(PLACES), own) / SEEN
            levels = np.einsum("hkf,lk->hlf", parted, spread)
            parts = [levels.reshape(len(sums), -1), parted[:, several].reshape(len(sums), -1), sums[:, cells:] / scale]
            data.append((np.hstack(parts).astype(np.float32), worth > worth.max() - NEAR, weight / len(piece)))
    size = [len(LEVELS) * own, len(several) * own, len(COSTS)]
    penalty = np.repeat([PENALTY, APART, LOOSE], size)

    def loss(weights: Array) -> tuple[float, Array]:
        value, slope = float(penalty @ weights**2), 2 * penalty * weights
        for each, good, weight in data:
            logits = each @ weights.astype(np.float32)
            share = np.exp(logits - logits.max())
            share /= share.sum()
            right = share[good].sum() + 1e-12
            value -= weight * float(np.log(right))
            slope += weight * (each.T @ (share - np.where(good, share / right, 0)))
        return value, slope

    found = minimize(loss, np.zeros(sum(size)), jac=True, method="L-BFGS-B", options={"maxiter": rounds}).x
    levels, apart, costs = np.split(found, np.cumsum(size)[:-1])
    weights = spread.T @ levels.reshape(len(LEVELS), own)
    weights[several] += apart.reshape(len(several), own)
    return weights.T / SEEN, dict(zip(COSTS, (costs / scale).tolist(), strict=True))


def trained(songs: Path | None, table: Mapping[str, Any], most: int | None = None) -> tuple[Array, dict[str, float]]:
    """The weights from all that was seen: PIECES, CHECKED, FRESH, LATEST, RELATED, OTHERS and the songs (.mxl files)."""
    pieces = material(songs, most)
    return fit((stretches(played(name, longest=bars), table), weight) for name, bars, weight in pieces)


def material(songs: Path | None, most: int | None) -> list[tuple[str, int, float]]:
    """(name, bars that are played, weight) of each piece that is trained on; `most` of them, spread over all, for a trial."""
    files = [str(path) for path in sorted(songs.glob("*.mxl"))] if songs else []
    near = [(name, RELATED_BARS, 1.0) for name in (*PIECES, *CHECKED, *FRESH, *LATEST, *RELATED, *files)]
    whole = near + [(name, OTHERS_BARS, OTHERS_WEIGHT) for name in OTHERS]
    return whole[:: -(-len(whole) // most)] if most else whole


def crossed(
    songs: Path | None, table: Mapping[str, Any], most: int | None = None, parts: int = 5
) -> Iterator[tuple[Played, dict[str, Any]]]:
    """Each piece of full weight, with the table whose weights were fitted on the pieces of other works (first 80 bars)."""
    known = {name: (played(name, longest=bars), weight) for name, bars, weight in material(songs, most)}
    seen = {name: stretches(piece, table) for name, (piece, _) in known.items()}
    works = sorted({work(name) for name, (_, weight) in known.items() if weight == 1})
    random.Random(1).shuffle(works)
    for part in range(parts):
        held = set(works[part::parts])
        weights, costs = fit((seen[name], weight) for name, (_, weight) in known.items() if work(name) not in held)
        places = {name: row.tolist() for name, row in zip(FEATURES, weights, strict=True)}
        for name, (piece, _) in known.items():
            if work(name) in held:
                yield piece, {**table, "worth": costs, "places": places}


def work(name: str) -> str:
    """What stays together: the movements of a work."""
    return name.split("/movement")[0]
