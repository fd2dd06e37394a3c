"""The bass: the chain of lowest notes, less the inner notes of broken chords that only happen to lie lowest."""

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
    for tones in by_bar.values():
        if not broken(texture, tones, figure, figure["distinct"]):
            bass += tones
            continue
        unit = min(t.length for t in tones)
        for tone, after in zip(tones, [*tones[1:], None], strict=True):
            deep = after is not None and after.pitch - tone.pitch >= table["apart"] and texture.on_beat(tone.onset)
            (bass if tone.length >= table["held"] * unit or (deep and _lowest(tone, tones)) else figures).append(tone)
    return bass, figures


def _lowest(tone: Tone, tones: list[Tone]) -> bool:
    return tone.pitch == min(t.pitch for t in tones)
