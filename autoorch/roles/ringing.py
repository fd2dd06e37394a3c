"""How long notes stand for the harmony: as long as the figure that they belong to lasts, or as nothing else says more.

A hand that breaks a chord names its members one after the other; each holds for the whole figure, or until a step takes its
place. A bass note and the chord that follows it are one harmony. What was struck under a scale governs while the scale runs
on alone (common practice).
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from itertools import groupby, pairwise

from autoorch.roles.parameters import Section
from autoorch.roles.texture import Texture, Tone

Ring = tuple[int, int]
"""Ticks from and to which a tone's pitch holds."""
SIZES = (3, 4, 6, 8)
"""Notes of a broken chord's pattern."""
STEP = 2
"""Semitones of a step at most."""


def ringing(texture: Texture, tune: Collection[int], table: Section) -> Mapping[int, Ring]:
    """Index of each tone of the accompaniment that is heard longer than written -> the ticks from and to which it holds.

    Args:
        texture: all notes.
        tune: indices of the tune's tones, which hold no longer than they are written.
        table: [figure].
    """
    others = [tone for tone in texture.tones if tone.index not in tune]
    found = _strides(texture, others)
    found.update(_broken(texture, others, table))
    return found


def scales(texture: Texture, table: Section) -> set[int]:
    """Indices of the tones of scales: so many quick notes by step, one after the other on a staff.

    Args:
        texture: all notes.
        table: [figure].
    """
    found: set[int] = set()
    for _, tones in groupby(sorted(texture.tones, key=lambda t: (t.staff, t.index)), key=lambda t: t.staff):
        ends: dict[int, list[list[Tone]]] = {}
        for tone in tones:
            if tone.length > table["quick"] * texture.beat_at(tone.onset):
                continue
            before = [run for run in ends.get(tone.onset, ()) if 0 < abs(run[-1].pitch - tone.pitch) <= STEP]
            run = [*max(before, key=len, default=[]), tone]
            ends.setdefault(tone.end, []).append(run)
            if len(run) >= table["scale"]:
                found |= {t.index for t in run}
    return found


def held_under(texture: Texture, run: Collection[int], rings: Mapping[int, Ring]) -> dict[int, Ring]:
    """The rings, with those of what is struck last before a scale runs on alone: to the next attack, or the bar's end.

    Args:
        texture: all notes.
        run: indices of tones of scales.
        rings: as `ringing` has them.
    """
    found = dict(rings)
    firm = [onset for onset, tones in texture.attacks.items() if any(t.index not in run for t in tones)]
    for onset, after in zip(firm, [*firm[1:], texture.sketch.end], strict=True):
        tones = [t for t in texture.sounding[onset] if t.index not in run]
        stop = min(after, texture.sketch.bar_at(onset).end)
        alone = texture.onsets[
            bisect_left(texture.onsets, max(t.end for t in tones)) : bisect_left(texture.onsets, stop)
        ]
        if alone and all(t.index in run for tick in alone for t in texture.sounding[tick]):
            for tone in tones:
                found[tone.index] = found.get(tone.index, (tone.onset, stop))[0], stop
    return found


def _strides(texture: Texture, tones: Sequence[Tone]) -> dict[int, Ring]:
    """A bass note holds under the chords that follow it in its bar, and the first of them is heard from the bass on."""
    found: dict[int, Ring] = {}
    hands = sorted(tones, key=lambda t: (t.staff, t.index))
    for _, hand in groupby(hands, key=lambda t: (t.staff, texture.sketch.bar_at(t.onset).index)):
        attacks = [list(group) for _, group in groupby(hand, key=lambda t: t.onset)]
        bass: list[Tone] = []
        chords: list[list[Tone]] = []
        for group in (*attacks, None):
            chord = group is not None and len({t.pitch % 12 for t in group}) > 1
            if group is not None and chord and bass and group[-1].pitch > bass[0].pitch:
                chords.append(group)
                continue
            if chords:
                found |= {t.index: (t.onset, chords[-1][0].end) for t in bass}
                found |= {t.index: (bass[0].onset, t.end) for t in chords[0]}
            bass, chords = [] if group is None or chord else group, []
    return found


def _broken(texture: Texture, tones: Sequence[Tone], table: Section) -> dict[int, Ring]:
    """Of broken chords; where a pattern comes again in a bar, each of its notes holds for one pattern."""
    least, third = int(table["notes"]), int(table["third"])
    found: dict[int, Ring] = {}
    runs_of, mates = _runs(texture, tones, table["unit"])
    for runs in runs_of:
        alike = Counter(tuple(tone.pitch for tone in run) for run in runs)
        for run in runs:
            moves = [abs(b.pitch - a.pitch) for a, b in pairwise(run) if b.pitch != a.pitch]
            leaps = sum(move >= third for move in moves)
            whole = len(run) >= least or alike[tuple(tone.pitch for tone in run)] > 1
            if not whole or not moves or leaps < table["leaps"] * len(moves):
                continue
            blocks = _patterns(run)
            for block in blocks:
                found |= {t.index: (block[0].onset, block[-1].end) for t in block}
            for tone in () if blocks else run:
                near = [other for other in run if 0 < abs(other.pitch - tone.pitch) < third]
                taken = (other.onset for other in near if other.onset > tone.onset)
                found[tone.index] = tone.onset if near else run[0].onset, next(taken, run[-1].end)
            found |= {t.index: found[tone.index] for tone in run for t in mates[tone.index]}
    return found


def _patterns(run: Sequence[Tone]) -> list[list[Tone]]:
    """The run in patterns of one shape and of three pitches at least; none where there are no such."""
    for size in SIZES:
        blocks = [list(run[k : k + size]) for k in range(0, len(run), size)]
        shapes = {_shape(block) for block in blocks}
        if len(blocks) > 1 and len(run) % size == 0 and len(shapes) == 1 and min(shapes)[0] > 1:
            return blocks
    return []


def _shape(block: Sequence[Tone]) -> tuple[int, ...]:
    """The greatest rank of its pitches, and all of them."""
    ranks = sorted({tone.pitch for tone in block})
    return len(ranks) - 1, *(ranks.index(tone.pitch) for tone in block)


def _runs(texture: Texture, tones: Sequence[Tone], unit: float) -> tuple[list[list[list[Tone]]], dict[int, list[Tone]]]:
    """For each staff and bar the runs of single or octave-doubled, equally long, quick notes that follow each other, the lowest
    of each attack; and what is struck with it, by its index."""
    by_staff: dict[int, dict[int, list[Tone]]] = {}
    for tone in tones:
        by_staff.setdefault(tone.staff, {}).setdefault(tone.onset, []).append(tone)
    found: list[list[list[Tone]]] = []
    mates: dict[int, list[Tone]] = {}
    for attacks in by_staff.values():
        quick = []
        for group in attacks.values():
            if len({t.pitch % 12 for t in group}) == 1 and group[-1].length <= unit * texture.beat_at(group[-1].onset):
                quick.append(group[-1])
                mates[group[-1].index] = group
        for _, bar in groupby(quick, key=lambda tone: texture.sketch.bar_at(tone.onset).onset):
            runs: list[list[Tone]] = []
            for tone in bar:
                if runs and tone.onset == runs[-1][-1].end and tone.length == runs[-1][-1].length:
                    runs[-1].append(tone)
                else:
                    runs.append([tone])
            found.append([run for run in runs if len(run) > 2])
    return found, mates
