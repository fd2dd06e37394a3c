"""The melody: the chain of notes, one after the other, that most likely is the tune."""

from __future__ import annotations

import itertools
from bisect import bisect_left
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np

from autoorch.roles.again import AGAIN, chances, look_again
from autoorch.roles.chain import STEPS, Links, best_expected, likely, links
from autoorch.roles.features import NAMES, SLACK, Clock, Indices, Numbers, clock, features
from autoorch.roles.kinds import KINDS, TRAITS, shares, traits
from autoorch.roles.parameters import Section
from autoorch.roles.singer import SIGNS, signs, twins
from autoorch.roles.texture import Texture, Tone
from autoorch.tables import Tables

_ROW = [float]
SCHEMA = {
    "choice": dict.fromkeys(
        "leads look sung named interlude hands alone hymn hymn_notes top together ground single figured crest".split(),
        float,
    )
    | {"least": _ROW},
    "kinds": dict.fromkeys((*TRAITS, "constant"), _ROW),
    "notes": dict.fromkeys((*NAMES, "constant"), _ROW),
    "steps": dict.fromkeys((*STEPS, "start"), _ROW),
    "signs": dict.fromkeys(SIGNS, float),
    "again": dict.fromkeys((*AGAIN, "constant"), float),
}
SONG = KINDS.index("song")
HANDS = 2


def melody_table(tables: Tables) -> Mapping[str, Any]:
    """What is known of tunes: constraints/melody.toml.

    Raises:
        TableError: for an unknown, missing or absurd key.
    """
    return tables.rule("melody", SCHEMA)


def find_melody(texture: Texture, table: Mapping[str, Any], figure: Section) -> list[Tone]:
    """The tune through the whole cue: one note at a time, but for notes of played music that last into the next.

    Args:
        texture: all notes.
        table: see melody_table.
        figure: [figure] of constraints/reading.toml.
    """
    if not texture.tones:
        return []
    choice = table["choice"]
    time = clock(texture, choice["together"])
    looks = features(time)
    share = _kinds(texture, traits(looks, time), table)
    plain = np.eye(len(share))[np.argsort(-share, kind="stable")]
    found: list[list[Tone]] = []
    for kind in (share, *plain):  # a kind in which hardly a bar has a tune is the wrong one
        found.append(_likeliest(texture, time, looks, kind, table))
        if _bars(texture, found[-1]) >= choice["leads"] * len(texture.sketch.bars):
            break
    else:
        found.append(max(found, key=lambda tune: _bars(texture, tune)))
    if _no_tune(texture, found[-1], choice, figure):
        return crests(texture, choice["crest"])
    return with_upbeats(texture, found[-1])


def _kinds(texture: Texture, found: Numbers, table: Mapping[str, Any]) -> Numbers:
    """(KINDS,) How likely each kind of music is, by the traits found, and no song where one player has it all."""
    share = shares(found, table["kinds"])
    choice, sketch = table["choice"], texture.sketch
    alone = sum(len({tone.pitch % 12 for tone in group}) == 1 for group in texture.sounding.values())
    one_player = len(sketch.staves) == HANDS or alone >= choice["alone"] * len(texture.sounding)
    if one_player and not _sung(texture):
        share[SONG] *= np.exp(-choice["hands"])
    return np.asarray(share / share.sum())


def with_upbeats(texture: Texture, tune: Sequence[Tone]) -> list[Tone]:
    """The tune with the notes that lead to its next one in its rests, alone in the voice of the sketch in which the tune's notes
    before and after stand, where it writes more than one."""
    if len({(tone.staff, tone.voice) for tone in texture.tones}) < 2:
        return list(tune)
    found: list[Tone] = []
    for before, after in itertools.pairwise((*tune, None)):
        assert before is not None
        found.append(before)
        if after is None or before.end >= after.onset or (before.staff, before.voice) != (after.staff, after.voice):
            continue
        rest = texture.onsets[bisect_left(texture.onsets, before.end) : bisect_left(texture.onsets, after.onset)]
        for tick in rest:
            own = [t for t in texture.attacks[tick] if (t.staff, t.voice) == (before.staff, before.voice)]
            if len(own) == 1 and own[0].end == after.onset:
                found += own
    return found


def _bars(texture: Texture, tones: Sequence[Tone]) -> int:
    """Number of bars in which one of them begins."""
    return len({int(texture.in_bars(tone.onset) + 1e-9) for tone in tones})


def _likeliest(texture: Texture, time: Clock, looks: Numbers, kind: Numbers, table: Mapping[str, Any]) -> list[Tone]:
    """The tune of music that is of each kind to that share."""
    kept, ways, chance = first_pass(texture, time, looks, kind, table)
    chance += kind[SONG] * (second_pass(time, kept, chance, table["again"]) - chance)
    chosen = best_expected(ways, chance, float(np.array(table["choice"]["least"]) @ kind))
    return [texture.tones[kept[place]] for place in chosen]


def first_pass(
    texture: Texture, time: Clock, looks: Numbers, kind: Numbers, table: Mapping[str, Any]
) -> tuple[Indices, Links, Numbers]:
    """The tones looked at, their links, and how likely each is in the tune.

    Args:
        texture: all notes.
        time: of its tones; looks: see features.
        kind: (KINDS,) share of each.
        table: see melody_table.
    """
    choice = table["choice"]
    odds = looks @ (np.array([table["notes"][name] for name in NAMES]) @ kind)
    odds += np.array(table["notes"]["constant"]) @ kind
    sung = _sung(texture)
    odds += choice["sung"] * np.array([(tone.staff, tone.voice) in sung for tone in texture.tones])
    odds += choice["named"] * np.isin([tone.staff for tone in texture.tones], _named(texture))
    tops = _tops_of_hymn(texture, time, choice)
    if tops.any():
        odds += choice["top"] * tops
    else:  # where voices sing together, two at one pitch tell nothing
        odds += kind[SONG] * (signs(time) @ np.array([table["signs"][name] for name in SIGNS]))
    odds[_beside_words(texture, sung, choice["interlude"])] = -np.inf
    kept = np.flatnonzero((odds > min(choice["look"], float(odds.max()) - 1)) & ~twins(time))
    ways = links(time, kept)
    step = ways.looks @ (np.array([table["steps"][name] for name in STEPS]) @ kind)
    _, chance, _, _ = likely(ways, odds[kept], step, float(np.array(table["steps"]["start"]) @ kind))
    return kept, ways, chance


def second_pass(time: Clock, kept: Indices, chance: Numbers, weights: Section) -> Numbers:
    """(kept,) how likely they are in a singer's line once the whole piece has been looked at; tones not kept were unlikely."""
    every, looks = seen_again(time, kept, chance)
    odds = looks @ np.array([weights[name] for name in AGAIN]) + weights["constant"]
    found = np.zeros(len(time.on))
    found[every] = chances(odds)
    return np.asarray(found[kept])


def seen_again(time: Clock, kept: Indices, chance: Numbers) -> tuple[Indices, Numbers]:
    """All tones but twins, and what the second pass tells them by."""
    every = np.flatnonzero(~twins(time))
    first = np.zeros(len(time.on))
    first[kept] = chance
    return every, look_again(time.of(every), first[every])


def _no_tune(texture: Texture, tune: Sequence[Tone], choice: Section, figure: Section) -> bool:
    """There is nothing but broken chords, nearly all notes struck alone: the tune found is their bass, or they themselves."""
    others = len(texture.tones) - len(tune)
    alone = sum(len(group) == 1 for group in texture.attacks.values())
    if not others or alone < choice["single"] * len(texture.attacks):
        return False
    lowest = sum(texture.sounding[tone.onset][-1].index == tone.index for tone in tune)
    if others >= 2 * len(tune) and lowest >= choice["ground"] * len(tune):
        return True
    bars = [list(bar) for _, bar in itertools.groupby(tune, key=lambda tone: int(texture.in_bars(tone.onset) + 1e-9))]
    return sum(broken(texture, bar, figure) for bar in bars) >= choice["figured"] * len(bars)


def crests(texture: Texture, stretch: float) -> list[Tone]:
    """The highest note of each stretch of so many bars, the first of several."""
    found: dict[int, Tone] = {}
    for tone in texture.tones:
        place = int(texture.in_bars(tone.onset) / stretch + 1e-9)
        if place not in found or tone.pitch > found[place].pitch:
            found[place] = tone
    tones: list[Tone] = []
    for tone in found.values():
        if not tones or tones[-1].end <= tone.onset:
            tones.append(tone)
    return tones


def _tops_of_hymn(texture: Texture, time: Clock, choice: Section) -> Numbers:
    """(tones,) 1 for the highest sounding note of each attack where most attacks are chords that are left together; else 0."""
    tops, chords = np.zeros(len(texture.tones)), 0
    for group in texture.attacks.values():
        ends = time.end[[tone.index for tone in group]]
        chords += len(group) >= choice["hymn_notes"] and bool(np.ptp(ends) <= SLACK)
        highest = texture.sounding[group[0].onset][0].index
        tops[highest] = highest == group[0].index
    return tops if chords >= choice["hymn"] * len(texture.attacks) else 0 * tops


def _sung(texture: Texture) -> set[tuple[int, int]]:
    """Staff and voice of notes with words."""
    return {(note.staff, note.voice) for note in texture.sketch.notes if note.lyric}


def _named(texture: Texture) -> list[int]:
    """Staves that are named for an instrument among others that are not, have one note at a time, and mostly not the lowest."""
    hints = [bool(staff.hint) for staff in texture.sketch.staves]
    staves: dict[int, list[Tone]] = {}
    for tone in texture.tones:
        staves.setdefault(tone.staff, []).append(tone)
    return [
        staff
        for staff, tones in staves.items()
        if hints[staff]
        and not all(hints)
        and len({tone.onset for tone in tones}) == len(tones)
        and 2 * sum(texture.sounding[tone.onset][-1] is tone for tone in tones) < len(tones)
    ]


def best_chain(
    tones: Sequence[Tone], worth: Sequence[float], cost: Callable[[Tone, Tone], float], window: int
) -> list[Tone]:
    """The chain of tones that do not overlap with the greatest sum of worths less the costs from tone to tone.

    Args:
        tones: in order of onset.
        worth: by index of a tone; tones worth nothing are not taken.
        cost: of going from one tone to the next.
        window: ticks back from a tone in which the end of the one before may lie; beyond it the cost of the best chain
            so far is taken once and for all.
    """
    useful = [tone for tone in tones if worth[tone.index] > 0]
    by_end = sorted(range(len(useful)), key=lambda k: (useful[k].end, k))
    ends = [useful[k].end for k in by_end]
    total = [0.0] * len(useful)
    before = [-1] * len(useful)
    best_far, far, position = 0.0, -1, 0
    for k, tone in enumerate(useful):
        limit = tone.onset - window
        while position < len(ends) and ends[position] < limit:
            if total[by_end[position]] > best_far:
                best_far, far = total[by_end[position]], by_end[position]
            position += 1
        best, previous = best_far, far
        for place in range(position, len(ends)):
            if ends[place] > tone.onset:
                break
            j = by_end[place]
            if j >= k:
                continue
            value = total[j] - cost(useful[j], tone)
            if value > best:
                best, previous = value, j
        total[k], before[k] = best + worth[tone.index], previous
    if not useful:
        return []
    k = max(range(len(useful)), key=lambda j: (total[j], -j))
    chain = []
    while k >= 0:
        chain.append(useful[k])
        k = before[k]
    return chain[::-1]


def broken(texture: Texture, tones: Sequence[Tone], figure: Section) -> bool:
    """The tones run in short even steps over few pitches that come again, mostly in leaps or again and again.

    Args:
        texture: all notes.
        tones: one after the other.
        figure: [figure].
    """
    pitches = len({t.pitch for t in tones})
    if len(tones) < figure["notes"] or pitches > figure["distinct"] * len(tones):
        return False
    steps = [b.onset - a.onset for a, b in itertools.pairwise(tones)]
    usual = max(set(steps), key=lambda s: (steps.count(s), -s))
    if usual > figure["unit"] * texture.beat_at(tones[0].onset) or steps.count(usual) < figure["even"] * len(steps):
        return False
    leaps = sum(abs(b.pitch - a.pitch) >= figure["third"] for a, b in itertools.pairwise(tones))
    again = len(tones) >= figure["vamp_notes"] and pitches <= figure["vamp_distinct"] * len(tones)
    return leaps >= figure["leaps"] * len(steps) or (again and leaps > 0)


def _beside_words(texture: Texture, sung: set[tuple[int, int]], interlude: float) -> list[int]:
    """Indices of the tones of other voices that begin where one with words sings, or rests for less than so many bars."""
    found: list[tuple[int, int]] = []
    for tone in texture.tones:
        if (tone.staff, tone.voice) in sung:
            if found and texture.in_bars(tone.onset) - texture.in_bars(found[-1][1]) < interlude:
                found[-1] = found[-1][0], max(found[-1][1], tone.end)
            else:
                found.append((tone.onset, tone.end))
    return [
        tone.index
        for tone in texture.tones
        if (tone.staff, tone.voice) not in sung and any(start <= tone.onset < end for start, end in found)
    ]
