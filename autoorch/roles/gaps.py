"""What leads while the tune rests, notes with which it goes on, runs that are all there is; and what does not: the chords that
only go on."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Sequence
from itertools import pairwise

from autoorch.roles.parameters import Section
from autoorch.roles.texture import Texture, Tone

OCTAVES = frozenset({-1})
"""A bass in octaves, whatever its pitches."""
SWEEP = 24
"""Semitones from the first note of a run to its last from which it sweeps over the keyboard."""


def what_goes_on(texture: Texture, tune: Sequence[Tone]) -> set[int]:
    """Indices of tones of the tune that a hand goes on with while it rests: the highest of a chord struck again and again, not
    each time in the tune; of a bass in octaves of which at most two thirds are. None where one staff has both hands.
    """
    if len(texture.sketch.staves) < 2:
        return set()
    sung = {tone.index for tone in tune}
    found: set[int] = set()
    for staff in {tone.staff for tone in tune}:
        before: frozenset[int] = frozenset()
        tops: list[Tone] = []
        for onset in (*texture.onsets, None):
            hand = [t for t in texture.attacks[onset] if t.staff == staff] if onset is not None else []
            if onset is not None and not hand:
                continue
            kind = _kind(texture, hand)
            if kind != before:
                own = {t.index for t in tops} & sung
                found |= (
                    own if (3 * len(own) <= 2 * len(tops) if before == OCTAVES else len(own) < len(tops)) else set()
                )
                before, tops = kind, []
            tops += hand[:1] if kind else []
    return found


def out_of_figures(texture: Texture, tune: Sequence[Tone]) -> set[int]:
    """Indices of tones of the tune with which one hand's figure goes on while the tune of the other rests: alone in the tune on
    their staff, in even steps after what the hand has had in the bar, at a pitch of it."""
    sung = {tone.index for tone in tune}
    found: set[int] = set()
    for before, tone, after in zip((None, *tune), tune, (*tune[1:], None), strict=False):
        if any(other is not None and other.staff == tone.staff for other in (before, after)):
            continue
        bar = texture.sketch.bar_at(tone.onset)
        hand = [other for other in texture.between(bar.onset, tone.onset) if other.staff == tone.staff]
        steps = {(two.onset - one.onset, two.length) for one, two in pairwise((*hand, tone))}
        again = tone.pitch in {other.pitch for other in hand}
        if again and len(hand) > 1 and steps == {(tone.length, tone.length)} and not sung & {t.index for t in hand}:
            found.add(tone.index)
    return found


def before_it_enters(texture: Texture, tune: Sequence[Tone], figure: Section) -> set[int]:
    """Indices of tones of the tune in bars that one staff of several has alone, in chords and with the rhythm with which it goes
    on under the tune soon after: an accompaniment that waits for its tune.

    Args:
        tune: in time order.
        figure: [figure].
    """
    if len(texture.sketch.staves) < 2:
        return set()
    sung = {tone.index for tone in tune}
    bars: dict[int, list[Tone]] = {}
    for tone in texture.tones:
        bars.setdefault(texture.sketch.bar_at(tone.onset).index, []).append(tone)
    found: set[int] = set()
    for bar, tones in bars.items():
        own = {tone.index for tone in tones} & sung
        staves = {tone.staff for tone in tones}
        if not own or len(staves) > 1 or len(_rhythm(texture, tones)) == len(tones):
            continue
        for later in range(bar + 1, bar + 1 + int(figure["ostinato"])):
            hand = [tone for tone in bars.get(later, ()) if tone.staff in staves]
            under = not any(tone.index in sung for tone in hand) and len(hand) < len(bars.get(later, ()))
            if under and _rhythm(texture, hand) == _rhythm(texture, tones):
                found |= own
    return found


def _rhythm(texture: Texture, tones: Sequence[Tone]) -> set[tuple[int, int]]:
    """Onset in its bar and length of each attack."""
    return {(tone.onset - texture.sketch.bar_at(tone.onset).onset, tone.length) for tone in tones}


def _kind(texture: Texture, hand: Sequence[Tone]) -> frozenset[int]:
    """The pitches of a chord that is left together; OCTAVES for the lowest two notes; nothing else."""
    if len({t.end for t in hand}) != 1:
        return frozenset()
    if len(hand) == 2 and hand[0].pitch - hand[1].pitch == 12:
        return OCTAVES if texture.sounding[hand[0].onset][-1] is hand[1] else frozenset()
    return frozenset(t.pitch for t in hand) if len(hand) > 2 else frozenset()


def in_gaps(texture: Texture, tune: Sequence[Tone], tones: Sequence[Tone]) -> list[Tone]:
    """Those of the tones that stand in a gap of the tune of less than a bar, where it goes on with them."""
    onsets = [t.onset for t in tune]
    found: list[Tone] = []
    for tone in tones:
        k = bisect_right(onsets, tone.onset)
        if 0 < k < len(tune):
            before, after = tune[k - 1].end, tune[k].onset
            if before <= tone.onset and tone.end <= after and texture.in_bars(after) - texture.in_bars(before) < 1:
                found.append(tone)
    return found


def runs_alone(texture: Texture, tune: Sequence[Tone], taken: Collection[int], figure: Section) -> list[list[Tone]]:
    """Runs in rests of the tune, through whatever hands, in even steps, all that sounds, to end an octave away at least.

    Args:
        tune: in time order.
        taken: indices of tones that are something else.
        figure: [figure].
    """
    ends = [0, *(tone.end for tone in tune)]
    starts = [*(tone.onset for tone in tune), texture.sketch.end]
    found: list[list[Tone]] = []
    for start, end in zip(ends, starts, strict=True):
        run: list[Tone] = []
        for tick in texture.onsets[bisect_left(texture.onsets, start) : bisect_left(texture.onsets, end)]:
            tone = texture.attacks[tick][0]
            alone = tone.index not in taken and all(t is tone or t in run for t in texture.sounding[tick])
            even = len(run) < 2 or tick - run[-1].onset == run[1].onset - run[0].onset
            if not (alone and even):
                found.append(run)
                run = []
            run += [tone] if alone else []
        found.append(run)
    return [run for run in found if _runs(texture, run, figure)]


def swept(texture: Texture, tune: Sequence[Tone], taken: Collection[int], figure: Section) -> set[int]:
    """Indices of runs through both hands, two octaves away at least, whose notes overlap so that the tune can take only some."""
    own = {tone.index for tone in tune}
    found: set[int] = set()
    for run in runs_alone(texture, (), taken, figure):
        run_ = {tone.index for tone in run}
        far = abs(run[-1].pitch - run[0].pitch) >= SWEEP and len({tone.staff for tone in run}) > 1
        if far and not one_by_one(run) and not run_ <= own:
            found |= run_
    return found


def _runs(texture: Texture, run: Sequence[Tone], figure: Section) -> bool:
    """So many short notes, and no broken chord that stays where it is."""
    if len(run) < figure["vamp_notes"] or abs(run[-1].pitch - run[0].pitch) < 12:
        return False
    return all(b.onset - a.onset <= figure["unit"] * texture.beat_at(a.onset) for a, b in pairwise(run))


def one_by_one(run: Sequence[Tone]) -> bool:
    """Each note of it ends before the next."""
    return all(a.end <= b.onset for a, b in pairwise(run))
