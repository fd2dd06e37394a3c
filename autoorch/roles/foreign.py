"""Notes that are foreign to their chord, each with what it does: passes, turns round, is held over, leans, anticipates.

The kinds are those of any harmony textbook (common practice); a note's neighbours are those of its own line.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from autoorch.roles.model import Chord, Strand
from autoorch.roles.texture import Texture, Tone

STEP = 2
"""Semitones of a step at most."""


def with_foreign(texture: Texture, strands: Sequence[Strand], chords: Sequence[Chord]) -> list[Chord]:
    """The chords with their foreign notes, in the order of the sketch's notes."""
    starts = [chord.start for chord in chords]
    by_id = {tone.id: tone for tone in texture.tones}
    found: list[list[tuple[Tone, str]]] = [[] for _ in chords]
    for strand in strands:
        for line in strand.lines:
            tones: list[Tone | None] = [by_id[note] for note in line.notes if note in by_id]
            for (before, tone), (_, after) in pairwise(pairwise([None, *tones, None])):
                assert tone is not None
                k = bisect_right(starts, tone.onset) - 1
                chord = chords[k]
                if chord.members and tone.pitch % 12 not in chord.members:
                    ahead = chords[k + 1] if k + 1 < len(chords) and chords[k + 1].start < tone.end else None
                    found[k].append((tone, _kind(texture, before, tone, after, ahead, strand.role)))
    return [
        replace(chord, foreign=tuple((tone.id, kind) for tone, kind in sorted(row, key=lambda r: r[0].index)))
        if row
        else chord
        for chord, row in zip(chords, found, strict=True)
    ]


def _kind(texture: Texture, before: Tone | None, tone: Tone, after: Tone | None, ahead: Chord | None, role: str) -> str:
    """One of model.FOREIGN."""
    reached = tone.pitch - before.pitch if before and before.end >= tone.onset else None
    left = after.pitch - tone.pitch if after and after.onset <= tone.end else None
    by_step = reached is not None and 0 < abs(reached) <= STEP
    to_step = left is not None and 0 < abs(left) <= STEP
    strong = texture.on_beat(tone.onset)
    if role == "pedal":
        return "pedal"
    if reached == 0 and to_step and strong:
        return "suspension"
    if (ahead and tone.pitch % 12 in ahead.members) or (left == 0 and not strong):
        return "anticipation"
    if by_step and to_step:
        assert reached is not None and left is not None
        return "passing" if (reached > 0) == (left > 0) else "neighbour"
    if to_step:
        return "appoggiatura"
    return "escape" if by_step else "free"
