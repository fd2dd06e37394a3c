"""Chords by what sounds: short spans weighed against every kind of chord, and the best row of chords by dynamic program.

Pitch classes are counted from a home class (the lowest note of the last attack), so that a transposed sketch gives the
same numbers, ties included.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from autoorch.roles.keys import viterbi
from autoorch.roles.texture import Texture, Tone

Array = NDArray[np.float64]
STEP = 2
"""Semitones of a step at most."""


@dataclass(frozen=True, slots=True)
class Kinds:
    """All chords there are.

    Attributes:
        names: (root from 0 to 11, kind) of each.
        members: (chords, 12), one for each member.
        thirds: (chords, 12), one for the third.
        sizes: (chords,) number of members.
        roots: (chords,)
    """

    names: tuple[tuple[int, str], ...]
    members: Array
    thirds: Array
    sizes: Array
    roots: NDArray[np.int64]


def all_chords(table: Mapping[str, Any]) -> Kinds:
    """Every kind of constraints/harmony.toml on every root."""
    names = tuple((root, kind) for kind in table["kind"] for root in range(12))
    members, thirds = np.zeros((len(names), 12)), np.zeros((len(names), 12))
    for k, (root, kind) in enumerate(names):
        steps = table["kind"][kind]["steps"]
        members[k, [(root + step) % 12 for step in steps]] = 1.0
        thirds[k, (root + steps[1]) % 12] = 1.0
    return Kinds(names, members, thirds, members.sum(axis=1), np.array([root for root, _ in names]))


def home_of(texture: Texture) -> int:
    """Pitch class of the lowest note of the last attack."""
    return texture.attacks[texture.onsets[-1]][-1].pitch % 12 if texture.onsets else 0


def make_spans(texture: Texture) -> list[tuple[int, int]]:
    """The beats, halved (in threes in compound metres) where something is attacked inside."""
    found: list[tuple[int, int]] = []
    for start, end in pairwise([*texture.beats, texture.sketch.end]):
        bar = texture.sketch.bar_at(start)
        parts = 3 if texture.beat_of(bar) > texture.sketch.ticks * 4 // bar.metre[1] else 2
        cuts = [start + (end - start) * k // parts for k in range(1, parts)] if (end - start) % parts == 0 else []
        edges = [start, *(cut for cut in cuts if cut in texture.attacks), end]
        found += [(a, b) for a, b in pairwise(edges) if b > a]
    return found


def is_light(texture: Texture, tone: Tone, ends: Mapping[int, Sequence[Tone]]) -> bool:
    """Short, off the beat, reached and left by step: it passes."""
    beat = texture.beat_at(tone.onset)
    if 2 * tone.length > beat or texture.on_beat(tone.onset):
        return False
    reached = any(t.staff == tone.staff and 0 < abs(t.pitch - tone.pitch) <= STEP for t in ends.get(tone.onset, ()))
    return reached and any(
        t.staff == tone.staff and 0 < abs(t.pitch - tone.pitch) <= STEP for t in texture.attacks.get(tone.end, ())
    )


def weigh(
    texture: Texture,
    spans: Sequence[tuple[int, int]],
    home: int,
    table: Mapping[str, float],
    rings: Mapping[int, tuple[int, int]] = MappingProxyType({}),
    scales: Collection[int] = (),
) -> Array:
    """(spans, 12): beats of weight of each class from home; the lowest note adds to its own class.

    Args:
        texture: all notes.
        spans: ticks from and to.
        home: pitch class that counts as 0.
        table: [chord].
        rings: ticks from and to which tones (by index) hold that are heard longer than they are written.
        scales: indices of tones that only pass.
    """
    found = np.zeros((len(spans), 12))
    starts = [start for start, _ in spans]
    beats = [texture.beat_at(start) for start in starts]
    lowest: list[int | None] = [None] * len(spans)
    ends: dict[int, list[Tone]] = {}
    for tone in texture.tones:
        ends.setdefault(tone.end, []).append(tone)
    for tone in texture.tones:
        first, last = rings.get(tone.index, (tone.onset, tone.end))
        k = max(0, bisect_left(starts, first + 1) - 1)
        factor = table["passing"] if tone.index in scales or is_light(texture, tone, ends) else 1.0
        while k < len(spans) and spans[k][0] < last:
            start, end = spans[k]
            held = (min(last, end) - max(first, start)) / beats[k]
            struck = table["attack"] * (end - start) / beats[k] if start <= tone.onset < end else 0.0
            found[k, (tone.pitch - home) % 12] += factor * (held + struck)
            low = lowest[k]
            lowest[k] = tone.pitch if low is None else min(low, tone.pitch)
            k += 1
    for k, low in enumerate(lowest):
        if low is not None:
            found[k, (low - home) % 12] += table["bass"] * found[k].sum() / 4
    return found


def bass_pitches(texture: Texture, spans: Sequence[tuple[int, int]], bass: Sequence[Tone]) -> list[int]:
    """The bass of each span as a MIDI number: the bass line's note, which holds through its rests inside a bar.

    Silence has the bass before it, at the beginning the lowest note that comes first.
    """
    onsets = [tone.onset for tone in bass]
    first = min((tone.pitch for tone in texture.tones if tone.onset == texture.onsets[0]), default=0)
    found: list[int] = []
    for start, end in spans:
        k = bisect_right(onsets, start) - 1
        bar = texture.sketch.bar_at(start).onset
        if k >= 0 and (bass[k].end > start or bass[k].onset >= bar):
            found.append(bass[k].pitch)
            continue
        i = bisect_right(texture.onsets, start) - 1
        tones = [t for t in texture.sounding[texture.onsets[i]] if t.end > start] if i >= 0 else []
        j = bisect_left(texture.onsets, start)
        if not tones and j < len(texture.onsets) and texture.onsets[j] < end:
            tones = texture.sounding[texture.onsets[j]]
        found.append(tones[-1].pitch if tones else found[-1] if found else first)
    return found


def governing(
    texture: Texture,
    spans: Sequence[tuple[int, int]],
    basses: Sequence[int],
    path: Sequence[int],
    fifths: Sequence[int],
    rise: float,
) -> list[int]:
    """The basses with those put right that only move inside one chord and bar: the one before still governs where it leaps
    up, goes to the chord's fifth, or comes back at once.

    Args:
        fifths: pitch class of each chord's fifth.
        rise: semitones of such a leap at least.
    """
    found: list[int] = []
    for k, (start, _) in enumerate(spans):
        same = k > 0 and path[k] == path[k - 1] and not texture.on_bar(start)
        back = k + 1 < len(spans) and path[k + 1] == path[k] and not texture.on_bar(spans[k + 1][0])
        stays = same and (
            basses[k] - found[-1] >= rise
            or basses[k] % 12 == fifths[path[k]]
            or (back and basses[k + 1] % 12 == found[-1] % 12)
        )
        found.append(found[-1] if stays else basses[k])
    return found


def fits(weight: Array, basses: Sequence[int], lengths: Array, kinds: Kinds, table: Mapping[str, float]) -> Array:
    """(spans, chords): how well each chord explains each span, times the span's length in beats; 0 where nothing sounds."""
    total = weight.sum(axis=1, keepdims=True)
    share = weight / np.maximum(1e-9, total)
    inside = share @ kinds.members.T
    sounding = (share > 0).astype(np.float64)
    absent = kinds.sizes - sounding @ kinds.members.T
    found: Array = inside - table["other"] * (1 - inside) - table["missing"] * absent
    found -= table["missing_third"] * (1 - sounding @ kinds.thirds.T)
    found -= table["missing_root"] * (1 - sounding[:, kinds.roots])
    found -= table["seventh"] * (kinds.sizes - 3)
    found += table["root_in_bass"] * (kinds.roots[None, :] == np.array(basses)[:, None])
    found[total[:, 0] == 0] = 0.0
    return found * lengths[:, None]


def row_of(texture: Texture, spans: Sequence[tuple[int, int]], fit: Array, table: Mapping[str, float]) -> list[int]:
    """The row of chords with the greatest fit less the cost of changes."""
    change = [
        table["change_bar"]
        if texture.on_bar(start)
        else table["change_beat"]
        if texture.on_beat(start)
        else table["change"]
        for start, _ in spans
    ]
    return viterbi(fit, np.array(change)) if spans else []


def from_beats(
    texture: Texture, spans: Sequence[tuple[int, int]], path: Sequence[int], kinds: Kinds, home: int
) -> list[int]:
    """The row with chords that seem to begin inside a beat brought forward to it, where all that is struck from there on is
    theirs: a figure has its bass first."""
    found = list(path)
    for k, (start, _) in enumerate(spans):
        if not k or path[k] == path[k - 1] or texture.on_beat(start):
            continue
        first = next(j for j in range(k, -1, -1) if texture.on_beat(spans[j][0]))
        struck = texture.between(spans[first][0], start)
        theirs = all(kinds.members[path[k], (tone.pitch - home) % 12] for tone in struck)
        if struck and struck[0].onset == spans[first][0] and theirs:
            found[first:k] = [path[k]] * (k - first)
    return found
