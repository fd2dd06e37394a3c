"""The harmony: a chord for each beat, from the weight of the pitch classes that sound, in the local key."""

from __future__ import annotations

from bisect import bisect_left
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from autoorch.roles.keys import Key, local_keys, viterbi
from autoorch.roles.model import Chord
from autoorch.roles.parameters import Section
from autoorch.roles.texture import Texture

KINDS = {  # members above the root, and the suffix of the numeral: capital letters for a major third
    "major": (0, 4, 7),
    "minor": (0, 3, 7),
    "diminished": (0, 3, 6),
    "augmented": (0, 4, 8),
    "dominant seventh": (0, 4, 7, 10),
    "minor seventh": (0, 3, 7, 10),
    "major seventh": (0, 4, 7, 11),
    "half-diminished": (0, 3, 6, 10),
    "diminished seventh": (0, 3, 6, 9),
}
CHORDS = tuple((root, kind) for kind in KINDS for root in range(12))
SCALES = {"major": (0, 2, 4, 5, 7, 9, 11), "minor": (0, 2, 3, 5, 7, 8, 10)}
NUMERALS = {
    "major": "I bII II bIII III IV #IV V bVI VI bVII VII",
    "minor": "I bII II III #III IV #IV V VI #VI VII #VII",
}

_TIE = 1e-5
"""Chords that fit equally well: the lower degree of the key wins, so that transposing changes nothing."""
_DIGITS = 7


def _outside(key: Key) -> NDArray[np.float64]:
    """(12,) one for each pitch class that is not of the key."""
    scale = {(key[0] + step) % 12 for step in SCALES[key[1]]}
    return np.array([float(degree not in scale) for degree in range(12)])


def weights(texture: Texture, spans: list[tuple[int, int]], table: Section) -> tuple[NDArray[np.float64], list[int]]:
    """(spans, 12) weights of the pitch classes, in beats, and the lowest note's pitch class in each span.

    A span in which nothing sounds has no weight and takes over the bass of the span before.
    """
    found = np.zeros((len(spans), 12))
    starts = [start for start, _ in spans]
    lowest: list[int | None] = [None] * len(spans)
    for tone in texture.tones:
        k = max(0, bisect_left(starts, tone.onset + 1) - 1)
        while k < len(spans) and spans[k][0] < tone.end:
            start, end = spans[k]
            beat = end - start
            shared = (min(tone.end, end) - max(tone.onset, start)) / beat
            found[k, tone.pitch % 12] += shared + (table["attack"] if start <= tone.onset else 0.0)
            low = lowest[k]
            if low is None or tone.pitch < low:
                lowest[k] = tone.pitch
            k += 1
    basses: list[int] = []
    for k, low in enumerate(lowest):
        basses.append(low % 12 if low is not None else basses[-1] if basses else 0)
        if low is not None:
            found[k, low % 12] += table["bass"] * found[k].sum() / 4
    return found, basses


def find_chords(texture: Texture, table: Section) -> list[Chord]:
    """One chord a beat, neighbours with the same chord and bass as one."""
    edges = [*texture.beats, texture.sketch.end]
    spans = [(a, b) for a, b in pairwise(edges) if b > a]
    weight, basses = weights(texture, spans, table)
    share = weight / np.maximum(1e-9, weight.sum(axis=1, keepdims=True))
    keys = local_keys(share, table["key_change"])
    fit = np.zeros((len(spans), len(CHORDS)))
    members = np.zeros((len(CHORDS), 12))
    for k, (root, kind) in enumerate(CHORDS):
        members[k, [(root + step) % 12 for step in KINDS[kind]]] = 1.0
    inside = share @ members.T
    sounding = (share > 0).astype(np.float64)
    absent = members.sum(axis=1) - sounding @ members.T
    fit = inside - table["other"] * (1 - inside) - table["missing"] * absent
    fit -= table["seventh"] * (members.sum(axis=1) - 3)
    roots = np.array([root for root, _ in CHORDS])
    inner = {key: (members @ _outside(key) == 0) * table["in_key"] for key in set(keys)}
    for k, key in enumerate(keys):
        fit[k] += table["root_in_bass"] * (roots == basses[k]) + inner[key] - _TIE * ((roots - key[0]) % 12)
    fit[weight.sum(axis=1) == 0] = 0.0
    fit = fit.round(_DIGITS)
    change = np.array([table["change_bar"] if texture.on_bar(start) else table["change"] for start, _ in spans])
    path = viterbi(fit, change) if spans else []
    chords: list[Chord] = []
    for k, (start, end) in enumerate(spans):
        root, kind = CHORDS[path[k]]
        named = inside[k, path[k]] >= table["least"]
        chord = (
            make_chord(start, end, root, kind, basses[k], keys[k])
            if named
            else Chord(start, end, None, None, basses[k], key=keys[k])
        )
        last = chords[-1] if chords else None
        if last and (last.root, last.members, last.bass, last.key) == (
            chord.root,
            chord.members,
            chord.bass,
            chord.key,
        ):
            chords[-1] = (
                make_chord(last.start, end, root, kind, basses[k], keys[k])
                if named
                else Chord(last.start, end, None, None, basses[k], key=keys[k])
            )
        else:
            chords.append(chord)
    return chords


def make_chord(start: int, end: int, root: int, kind: str, bass: int, key: Key) -> Chord:
    """The chord with its tendency notes and numeral in a key."""
    steps = KINDS[kind]
    members = tuple((root + step) % 12 for step in steps)
    tendency = []
    if len(steps) == 4 and kind != "major seventh":
        tendency.append(members[3])
    leading = (key[0] + 11) % 12
    if kind == "dominant seventh":
        tendency.append(members[1])
    elif leading in members and (root - key[0]) % 12 in (7, 11):
        tendency.append(leading)
    scale = {(key[0] + step) % 12 for step in SCALES[key[1]]} | ({leading} if key[1] == "minor" else set())
    borrowed = not set(members) <= scale
    return Chord(start, end, root, members[1], bass, members, tuple(tendency), key, numeral(root, kind, key), borrowed)


def numeral(root: int, kind: str, key: Key) -> str:
    """ "V7", "ii", "viio7", "bVI": by the degree of the root and the kind of chord."""
    degree = NUMERALS[key[1]].split()[(root - key[0]) % 12]
    if KINDS[kind][1] == 3:
        degree = degree.lower()
    sign = {
        "diminished": "o",
        "diminished seventh": "o7",
        "half-diminished": "ø7",
        "augmented": "+",
        "major seventh": "M7",
    }
    return degree + sign.get(kind, "7" if len(KINDS[kind]) == 4 else "")
