"""What slurs say of the tune: a line under one slur is one thing, in the tune with all its notes or with none."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from autoorch.roles.texture import Texture, Tone


def with_slurs(texture: Texture, tune: Sequence[Tone]) -> list[Tone]:
    """The tune with the rest of each slurred line of which it has more than half, in place of what others have there; without
    the few that it has of others.

    Args:
        tune: in time order.
    """
    own = {tone.index for tone in tune}
    whole: dict[int, Tone] = {}
    out: set[int] = set()
    for line in _lines(texture):
        share = sum(tone.index in own for tone in line)
        if 2 * share > len(line):
            whole |= {tone.index: tone for tone in line}
        elif share and 2 * share < len(line):
            out |= {tone.index for tone in line}
    out -= whole.keys()
    fresh = [tone for tone in whole.values() if tone.index not in own]
    beside = {
        tone.index
        for tone in tune
        if tone.index not in whole and any(a.onset < tone.end and tone.onset < a.end for a in fresh)
    }
    kept = [tone for tone in tune if tone.index not in out | beside]
    return sorted((*kept, *fresh), key=lambda tone: tone.index) or list(tune)


def _lines(texture: Texture) -> Iterator[list[Tone]]:
    """The notes under each slur, where its voice has one at a time."""
    voices: dict[tuple[int, int], list[Tone]] = {}
    for tone in texture.tones:
        voices.setdefault((tone.staff, tone.voice), []).append(tone)
    by_id = {tone.id: tone for tone in texture.tones}
    for slur in texture.sketch.slurs:
        first, last = by_id.get(slur.first), by_id.get(slur.last)
        if first is None or last is None or (first.staff, first.voice) != (last.staff, last.voice):
            continue
        voice = voices[first.staff, first.voice]
        line = [tone for tone in voice if first.onset <= tone.onset <= last.onset]
        if all(a.end <= b.onset for a, b in pairwise(line)):
            yield line
