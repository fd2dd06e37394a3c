"""What slurs and hands say of the tune: a line under one slur is in it with all its notes or with none; a hand keeps it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise

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


def in_its_hand(texture: Texture, tune: Sequence[Tone]) -> list[Tone]:
    """The tune that stays in the hand that has it where it would go over to the lowest notes of the other for less than a bar,
    though its own goes on: there it has the highest notes of its own.

    Args:
        tune: in time order.
    """
    kept: list[Tone] = []
    runs = [list(run) for _, run in groupby(tune, key=lambda tone: tone.staff)]
    for before, run, after in zip([None, *runs], runs, [*runs[1:], None], strict=False):
        own = _instead(texture, before, run, after) if before and after else []
        kept += own or run
    return kept


def _instead(texture: Texture, before: Sequence[Tone], run: Sequence[Tone], after: Sequence[Tone]) -> list[Tone]:
    """The highest notes that the hand of the tune strikes while the run goes astray; none where it goes well."""
    start, end, staff = before[-1].end, after[0].onset, before[-1].staff
    lowest = all(texture.sounding[tone.onset][-1] is tone for tone in run)
    if after[0].staff != staff or not lowest or texture.in_bars(end) - texture.in_bars(run[0].onset) >= 1:
        return []
    hand = [t for t in texture.between(start, end) if t.staff == staff]
    tops = [next(group) for _, group in groupby(hand, key=lambda tone: tone.onset)]
    line = all(a.end <= b.onset for a, b in pairwise([*tops, after[0]]))
    over = all(top.pitch > max(t.pitch for t in run) for top in tops)
    return tops if line and over and 2 * sum(top.length for top in tops) > end - run[0].onset else []
