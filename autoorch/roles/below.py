"""A tune in the bass: a line that moves by itself under held chords, whose highest notes only seem to lead."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from autoorch.roles.parameters import Section
from autoorch.roles.texture import Texture, Tone


def led_from_below(
    texture: Texture, tune: Sequence[Tone], bass: Sequence[Tone], table: Section, figure: Section
) -> tuple[list[Tone], list[Tone]]:
    """Tune and bass, where the bass has become the tune in stretches in which it leads, and what seemed to lead is left out.

    Args:
        tune, bass: in time order.
        table: [texture]; `figure`: [figure].
    """
    above, under = _by_bar(texture, tune), _by_bar(texture, bass)
    leads = [
        bar
        for bar in sorted(under)
        if _holds(texture, above.get(bar, []), under[bar]) and _moves(texture, under[bar], table, figure)
    ]
    spans: list[tuple[int, int]] = []
    for bar in leads:  # a bar between two such bars is no other tune
        if spans and bar - spans[-1][1] <= 2:
            spans[-1] = (spans[-1][0], bar)
        else:
            spans.append((bar, bar))
    inside = {bar for first, last in spans if last > first for bar in range(first, last + 1)}
    sung = [tone for bar in above if bar not in inside for tone in above[bar]]
    line = [tone for bar in under if bar in inside for tone in under[bar]]
    for a, b in pairwise(line):  # what fills a gap of the line
        between = [t for t in texture.attacks.get(a.end, ()) if (t.end, t.staff) == (b.onset, b.staff)]
        sung += between if len(between) == 1 else []
    sung += line
    rest = [tone for bar in under if bar not in inside for tone in under[bar]]
    return sorted(sung, key=lambda tone: tone.index), rest


def _by_bar(texture: Texture, tones: Sequence[Tone]) -> dict[int, list[Tone]]:
    found: dict[int, list[Tone]] = {}
    for tone in tones:
        found.setdefault(texture.sketch.bar_at(tone.onset).index, []).append(tone)
    return found


def _holds(texture: Texture, tones: Sequence[Tone], line: Sequence[Tone]) -> bool:
    """Nothing but chords that are struck and left together, on the mean twice as long as the notes of the line under them."""
    if not tones or len(line) * sum(t.length for t in tones) < 2 * len(tones) * sum(t.length for t in line):
        return False
    return all(
        sum(t.end == tone.end and 0 < tone.pitch - t.pitch <= 12 for t in texture.attacks[tone.onset]) > 1
        for tone in tones
    )


def _moves(texture: Texture, tones: Sequence[Tone], table: Section, figure: Section) -> bool:
    """A line, mostly by steps, half of whose notes at least are struck without a chord."""
    steps = [abs(b.pitch - a.pitch) for a, b in pairwise(tones)]
    if len(tones) < figure["notes"] or sum(0 < step < figure["third"] for step in steps) < table["counter_small"] * len(
        steps
    ):
        return False
    alone = [t for t in tones if all((other.pitch - t.pitch) % 12 == 0 for other in texture.attacks[t.onset])]
    return 2 * len(alone) >= len(tones)
