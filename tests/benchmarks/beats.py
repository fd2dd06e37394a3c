"""Beats, bars and note values found in played MIDI, per piece: notated pieces as `played_pieces` plays them.

Measures: mir_eval's beat F within 70 ms, of beats and of bar lines; the latter also at either level, where twice or half as
long bars count as right (2/4 read as 4/4 charges a third though both can be written); what is wrong with the bars; the share of
notes whose place in the bar, and whose length, is the notated one. Baseline: a constant tempo of the median step from attack to
attack, four beats a bar, from the first attack.

What was used for what: `beats_fit` says on which pieces [worth] and [places] of constraints/beats.toml are fitted (`--fit`):
all parts but the unseen one, more of the same folders, 40 songs with piano. So the honest figures are those by cross-validation
(`--cross`: each piece read with weights fitted on other works) and of the unseen part. [pulse] was chosen by looking at some
forty of the pieces seen.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Mapping, Sequence
from fractions import Fraction
from pathlib import Path
from statistics import fmean, median
from typing import Any

import mir_eval  # type: ignore[import-untyped]
import numpy as np
from numpy.typing import NDArray

from autoorch.sketch.guard import Limits
from autoorch.sketch.midi.evidence import FEATURES
from autoorch.sketch.midi.played import SCHEMA, find_beats, place_played
from autoorch.sketch.midi.take import read_take
from autoorch.tables import load_tables
from tests.benchmarks.beats_fit import crossed, trained
from tests.benchmarks.played_pieces import (
    CHECKED,
    DRIFT,
    FRESH,
    JITTER,
    LATEST,
    PIECES,
    REPORTING,
    SETTING,
    UNSEEN,
    Played,
    played,
)

PARTS = {
    "setting": SETTING,
    "reporting": REPORTING,
    "checked": CHECKED,
    "fresh": FRESH,
    "latest": LATEST,
    "unseen": UNSEEN,
}
WINDOW = 0.07
CHORD = 0.05
"""Seconds within which attacks are one for the baseline."""
HEAD = f"{'piece':<40} {'beat F':>7} {'bar F':>7} {'either':>7} {'base':>7} {'bars':>7} {'onset':>7} {'length':>7}  bars are"
RIGHT, OUT, SAME = 0.9, 0.35, 0.12
"""Bar F from which bars are right, below which bars of the right length are out of phase; octaves between equal lengths."""


def arrays(piece: Played) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int64]]:
    """Onsets, ends, keys."""
    rows = sorted(piece.attacks)
    return np.array([a for a, _, _ in rows]), np.array([b for _, b, _ in rows]), np.array([k for _, _, k in rows])


def score(truth: Sequence[float], found: Sequence[float] | NDArray[np.float64]) -> float:
    return float(mir_eval.beat.f_measure(np.array(truth), np.array(found), f_measure_threshold=WINDOW))


def either(truth: Sequence[float], found: Sequence[float]) -> float:
    """The best F of bar lines where every second one may be left out, of those that are there or of those found."""
    ways = [(truth, found), (truth[::2], found), (truth[1::2], found), (truth, found[::2]), (truth, found[1::2])]
    return max(score(a, b) for a, b in ways if len(a) and len(b))


def fault(truth: Sequence[float], found: Sequence[float]) -> str:
    """What is wrong with the bars, in a word or two."""
    value = score(truth, found)
    if value >= RIGHT or len(truth) < 2 or len(found) < 2:
        return "right" if value >= RIGHT else "few"
    ratio = float(np.log2(np.median(np.diff(found)) / np.median(np.diff(truth))))
    lengths = {0: "out of phase" if value < OUT else "partly", 1: "two as one", -1: "one as two"}
    return next((name for octave, name in lengths.items() if abs(ratio - octave) < SAME), "another length")


def baseline(onsets: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Beats and bar lines of a constant tempo."""
    firsts = onsets[np.r_[True, np.diff(onsets) > CHORD]]
    step = float(np.median(np.diff(firsts)))
    beats = np.arange(firsts[0], onsets[-1] + step, step)
    return beats, beats[::4]


def measure(piece: Played) -> tuple[list[float], str]:
    """Beat F, bar F, bar F at either level, the baseline's two, shares of onsets and of lengths; what is wrong with the bars."""
    onsets, ends, keys = arrays(piece)
    grid = find_beats(onsets, ends, keys, load_tables().rule("beats", SCHEMA))
    bars = grid.beats[[start for start, _ in grid.bars]]
    base = baseline(onsets)
    take = read_take(piece.midi, piece.name, Limits())
    placed = place_played(take, load_tables().rule("beats", SCHEMA))
    spans = placed.bars or []
    starts = [start for start, _, _ in spans]
    same_onset = same_length = 0
    for (onset, length), (_, place, true) in zip(placed.notes, piece.notes, strict=True):
        index = max((k for k, start in enumerate(starts) if start <= onset), default=0)
        full = Fraction(4 * spans[index][2][0], spans[index][2][1]) if spans else Fraction(4)
        lead = full - spans[index][1] if spans and index == 0 else Fraction(0)
        inside = onset - (starts[index] if spans else 0) + lead
        scale = piece.beat / placed.unit
        same_onset += inside * scale == place % (full * scale)
        same_length += length * scale == true
    count = len(piece.notes)
    return [
        score(piece.beats, grid.beats), score(piece.downbeats, bars), either(piece.downbeats, list(bars)),
        score(piece.beats, base[0]), score(piece.downbeats, base[1]), same_onset / count, same_length / count,
    ], fault(piece.downbeats, list(bars))  # fmt: skip


def cross(piece: Played, table: Mapping[str, Any]) -> tuple[float, float]:
    """Beat F and bar F of a piece read with a table, told."""
    grid = find_beats(*arrays(piece), table)
    found = score(piece.beats, grid.beats), score(piece.downbeats, grid.beats[[start for start, _ in grid.bars]])
    print(f"{piece.name:<40} {found[0]:7.3f} {found[1]:7.3f}", flush=True)
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "--fit", action="store_true", help="print [worth] and [places] of constraints/beats.toml, fitted"
    )
    parser.add_argument(
        "--songs", type=Path, help="folder of songs with piano (OpenScore Lieder, .mxl) to fit on as well"
    )
    parser.add_argument("--cross", action="store_true", help="cross-validation over all pieces of full weight")
    parser.add_argument("--pieces", type=int, help="only so many of those for --fit and --cross, to see that they run")
    parser.add_argument("--drift", type=float, default=DRIFT, help="share (0.15)")
    parser.add_argument("--jitter", type=float, default=JITTER, help="seconds (0.03)")
    parser.add_argument("--piece", action="append", help="repeatable")
    parser.add_argument("--part", action="append", choices=PARTS, help="repeatable (setting and reporting)")
    options = parser.parse_args()
    if options.fit:
        weights, costs = trained(options.songs, load_tables().rule("beats", SCHEMA), options.pieces)
        print("[worth]", *(f"{name} = {value:.4f}" for name, value in costs.items()), "", "[places]", sep="\n")
        for name, row in zip(FEATURES, weights, strict=True):
            print(f"{name} = {[round(float(value), 3) for value in row]}")
        return
    if options.cross:
        read = crossed(options.songs, load_tables().rule("beats", SCHEMA), options.pieces)
        pairs = [cross(piece, table) for piece, table in read]
        print(
            f"beat F {fmean(beat for beat, _ in pairs):.3f}, bar F {fmean(bar for _, bar in pairs):.3f} of {len(pairs)}"
        )
        return
    print(HEAD)
    for part in options.part or ("setting", "reporting"):
        rows = []
        faults: Counter[str] = Counter()
        for name in PARTS[part]:
            if options.piece and name not in options.piece:
                continue
            row, wrong = measure(played(name, options.drift, options.jitter))
            rows.append(row)
            faults[wrong] += 1
            print(f"{name:<40}" + "".join(f" {value:7.3f}" for value in row) + f"  {wrong}", flush=True)
        if rows:
            columns = list(zip(*rows, strict=True))
            print(f"{part + ', mean of ' + str(len(rows)):<40}" + "".join(f" {fmean(c):7.3f}" for c in columns))
            print(f"{part + ', median':<40}" + "".join(f" {median(c):7.3f}" for c in columns))
            print("bars: " + ", ".join(f"{times} {name}" for name, times in faults.most_common()), flush=True)


if __name__ == "__main__":
    assert set(SETTING) | set(REPORTING) == set(PIECES)
    main()
