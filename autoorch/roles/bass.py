"""The bass: the chain of lowest notes, less the inner notes of broken chords and the chords off the beat that only happen to lie
lowest."""

from __future__ import annotations

from collections.abc import Collection

from autoorch.roles.melody import best_chain, broken
from autoorch.roles.parameters import Section
from autoorch.roles.texture import Texture, Tone


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

    free = [t for t in texture.tones if t.index not in taken]
    if not free:
        return [], []
    beat = max(texture.beat_of(bar) for bar in texture.sketch.bars)
    chain = best_chain(free, worth, cost, round(table["window"] * beat))
    bass: list[Tone] = []
    figures: list[Tone] = []
    by_bar: dict[int, list[Tone]] = {}
    for tone in chain:
        by_bar.setdefault(int(texture.in_bars(tone.onset) + 1e-9), []).append(tone)
    for whole in by_bar.values():
        low = min(t.pitch for t in whole)
        tones = [t for t in whole if t.pitch - low < table["apart"] or not _chordal(texture, t, taken)]
        copies = sum(_copy(texture, t, taken) for t in tones)
        if copies * 2 > len(tones) or not broken(texture, tones, figure):
            bass += tones
            continue
        unit = min(t.length for t in tones)
        for tone, after in zip(tones, [*tones[1:], None], strict=True):
            deep = after is not None and after.pitch - tone.pitch >= table["apart"] and texture.on_beat(tone.onset)
            (bass if tone.length >= table["held"] * unit or (deep and tone.pitch == low) else figures).append(tone)
    return bass, figures


def _chordal(texture: Texture, tone: Tone, taken: Collection[int]) -> bool:
    """Others within an octave are struck and left with it."""
    return any(
        t.index != tone.index and t.index not in taken and t.end == tone.end and 0 < t.pitch - tone.pitch < 12
        for t in texture.attacks[tone.onset]
    )


def _copy(texture: Texture, tone: Tone, taken: Collection[int]) -> bool:
    """It goes with a tone that is taken, octaves below."""
    return any(
        t.index in taken and t.end == tone.end and (t.pitch - tone.pitch) % 12 == 0 for t in texture.attacks[tone.onset]
    )
