"""Canons where neither staves nor the pitch tell the voices apart: notes that all come again as much later and higher.

A voice and its follower are looked for as in Meredith, Lemström and Wiggins, "Algorithms for Discovering Repeated Patterns in
Multidimensional Representations of Polyphonic Music" (2002): of all notes that one translation in time and pitch takes to
others, the longest line.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence

from autoorch.roles.parameters import Section
from autoorch.roles.texture import Texture, Tone

Pair = tuple[Tone, Tone]
"""A tone and the one that takes it up."""


def canons(texture: Texture, table: Section) -> Iterator[list[list[Tone]]]:
    """A voice and the one that follows it so soon that both sound together, for each way in which one may.

    Args:
        table: [imitation] of constraints/reading.toml.
    """
    by_way: dict[tuple[int, int], list[Pair]] = defaultdict(list)
    for tone in texture.tones:
        bar = texture.sketch.bar_at(tone.onset)
        near, far = (tone.onset + round(table[name] * bar.length) for name in ("apart", "canon"))
        for later in texture.between(near, far + 1):
            if later.length == tone.length:
                by_way[later.onset - tone.onset, later.pitch - tone.pitch].append((tone, later))
    off, least = int(table["off"]), int(table["notes"])
    bar_of = [texture.sketch.bar_at(tone.onset).index for tone in texture.tones]
    total = Counter(bar_of)
    for (lag, shift), pairs in sorted(by_way.items()):
        if len(pairs) < table["whole"] * least:
            continue
        all_pairs = [pair for by in range(-off, off + 1) for pair in by_way.get((lag, shift + by), ())]
        there = Counter(bar_of[k] for k in {tone.index for pair in all_pairs for tone in pair})
        full = {bar for bar, count in there.items() if count >= table["canon_share"] * total[bar]}
        all_pairs = [pair for pair in all_pairs if bar_of[pair[0].index] in full]
        if len(all_pairs) < least:
            continue
        all_pairs.sort(key=lambda pair: (pair[0].index, abs(pair[1].pitch - pair[0].pitch - shift), pair[1].index))
        for run in _runs(texture, all_pairs, least):
            one, other = _two_voices(texture, run)
            if len(one) < least or other[0].onset >= one[-1].end:
                continue
            if len(one) + len(other) >= table["canon_share"] * len(texture.between(one[0].onset, other[-1].end)):
                yield [one, other]


def _runs(texture: Texture, pairs: Sequence[Pair], least: int) -> Iterator[list[Pair]]:
    """The pairs parted where no line goes on, a beat after the last has ended; only where there are enough attacks."""
    run: list[Pair] = []
    end = 0
    for pair in (*pairs, None):
        if run and (pair is None or pair[0].onset - texture.beat_at(pair[0].onset) > end):
            if len({tone.onset for tone, _ in run}) >= least:
                yield run
            run = []
        if pair is not None:
            end = max(end, pair[0].end) if run else pair[0].end
            run.append(pair)


def _two_voices(texture: Texture, pairs: Sequence[Pair]) -> tuple[list[Tone], list[Tone]]:
    """The longest line and its follower; what follows in it does not lead as well."""
    while True:
        line = _line(texture, pairs)
        one, other = [pair[0] for pair in line], [pair[1] for pair in line]
        both = {tone.index for tone in one} & {tone.index for tone in other}
        if not both:
            return one, other
        pairs = [pair for pair in pairs if pair[0].index not in both]


def _line(texture: Texture, pairs: Sequence[Pair]) -> list[Pair]:
    """The longest line of tones that go on where the one before ends, or after a rest of a beat; of these the smoothest."""
    best: list[tuple[float, int]] = []
    ends: dict[int, list[int]] = defaultdict(list)
    for k, (tone, _) in enumerate(pairs):
        beat = texture.beat_at(tone.onset)
        before = [j for end in ends for j in ends[end] if tone.onset - beat <= end <= tone.onset]
        ways = [(best[j][0] + 1 - abs(pairs[j][0].pitch - tone.pitch) / 100, j) for j in before]
        best.append(max(ways, key=lambda way: (way[0], -way[1]), default=(1.0, -1)))
        ends[tone.end].append(k)
        for end in [end for end in ends if end < tone.onset - beat]:
            del ends[end]
    k = max(range(len(pairs)), key=lambda k: (best[k][0], -k), default=-1)
    found = []
    while k >= 0:
        found.append(pairs[k])
        k = best[k][1]
    return found[::-1]
