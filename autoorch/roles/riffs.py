"""A short pattern that comes again bar after bar over a line that sings: the pattern is an ostinato, the line the tune."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from autoorch.roles.grounds import Shape, like_those
from autoorch.roles.melody import broken, find_melody
from autoorch.roles.parameters import Section
from autoorch.roles.texture import Texture, Tone


def riffs(texture: Texture, tune: Sequence[Tone], melody: Mapping[str, Any], figure: Section) -> list[Tone]:
    """Tones that make such a pattern on one of several staves, if something else is the tune in its bars.

    Args:
        tune: what seems to be the tune, in time order.
        melody: constraints/melody.toml; `figure`: [figure] of constraints/reading.toml.
    """
    for staff in sorted({tone.staff for tone in tune}) if len(texture.sketch.staves) > 1 else ():
        own = _patterns(texture, [tone for tone in tune if tone.staff == staff], figure)
        if own and sings(texture, found_without(texture, own, melody, figure), own, figure):
            return own
    return []


def found_without(texture: Texture, out: Sequence[Tone], melody: Mapping[str, Any], figure: Section) -> list[Tone]:
    """The tune of what is left, as tones of the whole."""
    names = {tone.id for tone in out}
    notes = tuple(note for note in texture.sketch.notes if note.id not in names)
    if not any(note.duration for note in notes):
        return []
    again = {tone.id for tone in find_melody(Texture(replace(texture.sketch, notes=notes)), melody, figure)}
    return [tone for tone in texture.tones if tone.id in again]


def over(texture: Texture, riff: Sequence[Tone], tune: Sequence[Tone]) -> list[Tone]:
    """The tune without what it has of the riff's staff in bars in which it has another: the pattern's last strokes."""
    staff = riff[0].staff
    sung = {texture.sketch.bar_at(tone.onset).index for tone in tune if tone.staff != staff}
    return [tone for tone in tune if tone.staff != staff or texture.sketch.bar_at(tone.onset).index not in sung]


def _patterns(texture: Texture, tones: Sequence[Tone], figure: Section) -> list[Tone]:
    """Those that are short, alone on their staff, and the same in so many bars in a row; and in others that begin so or move the
    pattern."""
    by_bar: dict[int, list[Tone]] = {}
    for tone in tones:
        by_bar.setdefault(texture.sketch.bar_at(tone.onset).index, []).append(tone)
    shapes: dict[int, Shape] = {
        bar: {(t.onset - texture.sketch.bars[bar].onset, t.length): t.pitch for t in group}
        for bar, group in by_bar.items()
        if len(group) >= figure["notes"] and all(_short(texture, tone, figure) for tone in group)
    }
    kept = like_those(shapes, figure)
    return sorted((tone for bar in kept for tone in by_bar[bar]), key=lambda tone: tone.index)


def _short(texture: Texture, tone: Tone, figure: Section) -> bool:
    alone = sum(t.staff == tone.staff for t in texture.attacks[tone.onset]) == 1
    return alone and tone.length <= figure["unit"] * texture.beat_at(tone.onset)


def sings(texture: Texture, tune: Sequence[Tone], riff: Sequence[Tone], figure: Section) -> bool:
    """In most of the riff's bars another line has notes twice as long, alone on their staff, not lowest, no broken chord."""
    bars = {texture.sketch.bar_at(tone.onset).index for tone in riff}
    line = [
        tone
        for tone in tune
        if texture.sketch.bar_at(tone.onset).index in bars
        and texture.sounding[tone.onset][-1] is not tone
        and sum(t.staff == tone.staff for t in texture.attacks[tone.onset]) == 1
    ]
    most = 2 * len({texture.sketch.bar_at(tone.onset).index for tone in line}) > len(bars)
    long = sum(t.length for t in line) * len(riff) >= 2 * sum(t.length for t in riff) * len(line)
    return most and long and not broken(texture, line, figure)
