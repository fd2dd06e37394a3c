"""The bass: the chain of lowest notes, less the inner notes of broken chords and the chords off the beat that only happen to lie
lowest."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Collection, Sequence
from itertools import pairwise

from autoorch.roles.melody import best_chain, broken
from autoorch.roles.parameters import Section
from autoorch.roles.texture import Texture, Tone

BEFORE = 2
"""Notes of a broken chord before its bass that lie above it, besides those of the pattern that it begins."""


def find_bass(
    texture: Texture, taken: Collection[int], table: Section, figure: Section
) -> tuple[list[Tone], list[Tone]]:
    """The bass line, and those lowest notes that belong to a figure instead.

    Args:
        texture: all notes.
        taken: indices of tones that are no longer free.
        table: [bass]; `figure`: [figure].
    """

    worth = [float(texture.sounding[t.onset][-1].pitch >= t.pitch) for t in texture.tones]

    def cost(a: Tone, b: Tone) -> float:
        return table["leap"] * min(12, abs(a.pitch - b.pitch))

    left = [t for t in texture.tones if t.index not in taken]
    if not left:
        return [], []
    beat = max(texture.beat_of(bar) for bar in texture.sketch.bars)
    chain = _longest(texture, best_chain(left, worth, cost, round(table["window"] * beat)), taken)
    bass: list[Tone] = []
    figures: list[Tone] = []
    by_bar: dict[int, list[Tone]] = {}
    for tone in chain:
        by_bar.setdefault(int(texture.in_bars(tone.onset) + 1e-9), []).append(tone)
    deep: set[int] = set()
    first: dict[int, Tone] = {}
    for bar, whole in by_bar.items():
        tones = _without_chords(texture, whole, taken, table["apart"], figure["third"])
        mates = {t.index: mate for t in tones if (mate := _in_other_hand(texture, t, taken))}
        free = sum(mate.index not in taken for mate in mates.values())
        if 2 * free >= len(mates) >= max(figure["notes"], figure["even"] * len(tones)):
            bass += [t for t in tones if t.index not in mates]
            figures += [t for t in tones if t.index in mates]
            continue
        if bar - 1 in deep and _spread_out(texture, tones, table["apart"], figure):
            bass.append(tones[0])
            figures += tones[1:]
            deep.add(bar)
            continue
        copies = sum(_copy(texture, t, taken) for t in tones)
        dyads = sum(_chordal(texture, t, taken, 13) for t in tones)
        if copies * 2 > len(tones) or dyads >= figure["even"] * len(tones) or not broken(texture, tones, figure):
            bass += tones
            continue
        unit = min(t.length for t in tones)
        for k, (tone, after) in enumerate(zip(tones, [*tones[1:], None], strict=True)):
            far = after is not None and after.pitch - tone.pitch >= table["apart"] and texture.on_beat(tone.onset)
            under = tone.pitch <= min(t.pitch for t in tones[max(0, k - BEFORE) : k + int(figure["notes"])])
            if under and texture.on_bar(tone.onset):
                first[bar] = tone
            (bass if tone.length >= table["held"] * unit or (far and under) else figures).append(tone)
            deep |= {bar} if bass and bass[-1] is first.get(bar) else set()
    kept = {first[bar].index for bar in first if bar not in deep and {bar - 1, bar + 1} <= deep}
    bass = sorted((*bass, *(t for t in figures if t.index in kept)), key=lambda t: t.index)
    return bass, [t for t in figures if t.index not in kept]


def _spread_out(texture: Texture, tones: Sequence[Tone], apart: float, figure: Section) -> bool:
    """A figure that slows down: one deep note at the bar line, the others far above it, one by one."""
    above = tones[1:]
    return (
        len(tones) >= figure["notes"]
        and texture.on_bar(tones[0].onset)
        and all(t.pitch - tones[0].pitch >= apart for t in above)
        and all(a.end <= b.onset for a, b in pairwise(tones))
    )


def _longest(texture: Texture, chain: Sequence[Tone], taken: Collection[int]) -> list[Tone]:
    """The chain, with the longest of two tones that are struck at one pitch where it ends before the next."""
    found = []
    for tone, after in pairwise([*chain, None]):
        assert tone is not None
        twins = [t for t in texture.attacks[tone.onset] if t.pitch == tone.pitch and t.index not in taken]
        fitting = [t for t in twins if after is None or t.end <= after.onset]
        found.append(max(fitting, key=lambda t: (t.end, -t.index), default=tone))
    return found


def _without_chords(
    texture: Texture, bar: Sequence[Tone], taken: Collection[int], apart: float, third: float
) -> list[Tone]:
    """The lowest notes of a bar less those that are chords over its bass: far above it, or coming again after a note alone."""
    chordal = [t for t in bar if _chordal(texture, t, taken)]
    far = min(t.pitch for t in bar) + apart
    chords, bars = Counter(t.pitch for t in chordal), Counter(t.pitch for t in bar)
    alone = [t for t in bar if t not in chordal and t.onset < chordal[0].onset] if chordal else []
    near = min((t.pitch for t in alone), default=far) + third
    out = {t.index for t in chordal if t.pitch >= far or (chords[t.pitch] > 1 and t.pitch >= near)}
    if out:  # the lowest note of a chord that is struck before or after the others
        out |= {t.index for t in bar if t.pitch >= far and bars[t.pitch] > 1 and not texture.on_beat(t.onset)}
    return [t for t in bar if t.index not in out]


def grounded(texture: Texture, bass: Sequence[Tone], tune: Sequence[Tone]) -> tuple[list[Tone], list[Tone]]:
    """The bass, and those of its tones that only happen to lie lowest: alone while the tune is silent, nearer to its height.

    Args:
        bass, tune: in time order.
    """
    if not bass or not tune:
        return list(bass), []
    middle = (sum(t.pitch for t in bass) / len(bass) + sum(t.pitch for t in tune) / len(tune)) / 2
    onsets = [t.onset for t in tune]

    def stray(tone: Tone) -> bool:
        if tone.pitch <= middle or len(texture.sounding[tone.onset]) + len(texture.between(tone.onset, tone.end)) > 2:
            return False
        k = bisect_right(onsets, tone.onset) - 1
        return k < 0 or tune[k].end <= tone.onset

    return [t for t in bass if not stray(t)], [t for t in bass if stray(t)]


def without_twins(tune: Sequence[Tone], bass: Sequence[Tone]) -> list[Tone]:
    """The tune less what is struck with the bass at its pitch, by the hand that has the tune neither before nor after.

    Args:
        tune, bass: in time order.
    """
    low = {(tone.onset, tone.pitch) for tone in bass}
    near = zip([None, *tune], tune, [*tune[1:], None], strict=False)
    twins = {
        tone.index
        for before, tone, after in near
        if (tone.onset, tone.pitch) in low and tone.staff not in {t.staff for t in (before, after) if t is not None}
    }
    return [tone for tone in tune if tone.index not in twins] or list(tune)


def _chordal(texture: Texture, tone: Tone, taken: Collection[int], reach: int = 12) -> bool:
    """Others less than `reach` semitones above are struck and left with it, in no voice of their own beside its own, and no hand
    has reached under the other for it."""
    return any(
        t.index not in taken
        and t.end == tone.end
        and (t.staff < tone.staff or (t.staff, t.voice) == (tone.staff, tone.voice))
        and 0 < t.pitch - tone.pitch < reach
        for t in texture.attacks[tone.onset]
    )


def _in_other_hand(texture: Texture, tone: Tone, taken: Collection[int]) -> Tone | None:
    """The octave above that another staff has, where it has nothing else that is free: both hands have one figure."""
    others = [t for t in texture.attacks[tone.onset] if t.staff != tone.staff]
    mates = [t for t in others if (t.pitch - tone.pitch, t.end) == (12, tone.end)]
    return mates[0] if mates and all(t in mates or t.index in taken for t in others) else None


def _copy(texture: Texture, tone: Tone, taken: Collection[int]) -> bool:
    """It goes with a tone that is taken, octaves below."""
    return any(
        t.index in taken and t.end == tone.end and (t.pitch - tone.pitch) % 12 == 0 for t in texture.attacks[tone.onset]
    )
