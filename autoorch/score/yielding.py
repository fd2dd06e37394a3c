"""Who is marked a degree or two softer than the place says, so that what belongs above is heard there.

Brass in loud chords that the woodwind have too, so that the chord is one chord (common practice; a trumpet has the strength of
two horns or four woodwinds: Rimsky-Korsakov ch. I). An accompaniment that lies near the tune, moves and is stronger than it: an
accompaniment is softer than the line it accompanies (the same work, ch. IV); where it is loud, by two degrees if one is not
enough.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from statistics import mean

from autoorch.instruments import DYNAMICS
from autoorch.layers.model import Material, MaterialNote
from autoorch.lineup import Player
from autoorch.power import manner, power
from autoorch.problem.draft import Choice
from autoorch.score.notation import Notation
from autoorch.sketch.model import Bar
from autoorch.tables import Tables

FINISH = "finish"
"""The layer whose touches, runs and strokes are no accompaniment: they are to be heard."""
Spans = tuple[tuple[int, int], ...]
"""(start, end) in the sketch's ticks."""
Yield = tuple[int, int, tuple[str, ...], int]
"""(start, end in the sketch's ticks, dynamics that are marked softer there, by so many degrees)"""
Place = tuple[str, int, int]
"""(strand, start, end) of choices"""
Hands = Iterable[tuple[Player, Sequence[Choice]]]
"""Players with what is theirs."""


def yields(
    player: Player,
    choices: Iterable[Choice],
    covered: Spans,
    over: Mapping[Place, int],
    material: Material,
    bars: Sequence[Bar],
    house: Notation,
) -> tuple[Yield, ...]:
    """Where a player gives way, and at which dynamics: by whole bars (a bass and its after-beats in one hand have one dynamic),
    by notes where the tune is his in the same bar.

    Args:
        choices: his own; where he has the tune he never gives way.
        covered: see `chords_of`, those of the woodwind.
        over: see `over_the_tune`.
    """
    own = tuple(choices)
    tune = [_sounding(c, material) for c in own if material.strand[c.strand].role == "melody"]
    chords = _chords(own, material, house) if player.instrument.id in house.dynamics["yielding"] else ()
    loud = {span for span in chords if _meets(span, covered)}
    places = [(c, (c.strand, c.start, c.end)) for c in own]
    under = {(_sounding(c, material), over[place]) for c, place in places if place in over}
    at, always = tuple(house.dynamics["yield_at"]), DYNAMICS[1:]
    found = [(span, at, 1) for span in sorted(loud)] + [(span, always, 1) for span, _ in sorted(under)]
    found += [(span, at, steps) for span, steps in sorted(under) if steps > 1]
    return tuple(
        (*(span if _meets(_whole(span, bars), tune) else _whole(span, bars)), softer, steps)
        for span, softer, steps in found
        if not _meets(span, tune)
    )


def _whole(span: tuple[int, int], bars: Sequence[Bar]) -> tuple[int, int]:
    """From bar line to bar line."""
    inside = [bar for bar in bars if bar.onset < span[1] and bar.end > span[0]]
    return (inside[0].onset, inside[-1].end) if inside else span


def chords_of(family: str, choices: Iterable[tuple[Player, Choice]], material: Material, house: Notation) -> Spans:
    """Where players of a family have chords, held or repeated."""
    return _chords((choice for player, choice in choices if player.instrument.family == family), material, house)


def _chords(choices: Iterable[Choice], material: Material, house: Notation) -> Spans:
    found = set()
    for choice in choices:
        strand = material.strand[choice.strand]
        repeated = strand.role in house.dynamics["repeated"] and strand.layer != FINISH and len(strand.lines) > 1
        if strand.role == "inner" or repeated:
            found.add(_sounding(choice, material))
    return tuple(sorted(found))


def _meets(span: tuple[int, int], others: Iterable[tuple[int, int]]) -> bool:
    return any(first < span[1] and last > span[0] for first, last in others)


def _notes(choice: Choice, material: Material) -> list[MaterialNote]:
    return [
        note
        for line in choice.lines
        for note in material.line[line].notes
        if choice.start <= note.onset < choice.end and note.duration
    ]


def _sounding(choice: Choice, material: Material) -> tuple[int, int]:
    """From the first note of a choice to the end of its last one."""
    notes = _notes(choice, material)
    if not notes:
        return choice.start, choice.end
    return min(note.onset for note in notes), max(note.end for note in notes)


@dataclass
class _Sounding:
    """What one strand's players have in one bar: ticks and pitches of their attacks, summed power in hundredths, and what it
    would be a degree softer."""

    onsets: set[int] = field(default_factory=set)
    pitches: list[int] = field(default_factory=list)
    power: int = 0
    softer: int = 0


def over_the_tune(
    hands: Hands, material: Material, bars: Sequence[Bar], tables: Tables, house: Notation
) -> Mapping[Place, int]:
    """The accompaniments that would cover the tune at one dynamic, in the share of their bars with a tune that
    notation.toml names, and by how many degrees they are softer: 2 where they would in as many a degree softer, else 1. What is
    held covers it only if it is not loud and much stronger.
    What introduces such an accompaniment, before the tune comes in, is as soft. Nothing where there is no plan."""
    reach, share = tables.rule("balance")["reach"], house.dynamics["over_share"]
    still = house.dynamics["held_over"]
    together, over, far = Counter[Place](), Counter[Place](), Counter[Place]()
    dynamics = _dynamics(material, bars)
    found = _by_bar(hands, material, bars, dynamics, tables)
    for dynamic, sounding in zip(dynamics, found, strict=True):
        tunes = [own for place, own in sounding.items() if material.strand[place[0]].role == "melody"]
        if not tunes:
            continue
        strong = max(own.power for own in tunes)
        height = mean(pitch for own in tunes for pitch in own.pitches)
        for place, own in sounding.items():
            strand = material.strand[place[0]]
            if strand.role in house.dynamics["accompanying"] and strand.layer != FINISH:
                moves = len(own.onsets) > 1
                near = abs(mean(own.pitches) - height) <= reach and (moves or dynamic not in house.dynamics["yield_at"])
                together[place] += 1
                over[place] += near and own.power > strong * (1 if moves else still)
                far[place] += near and own.softer > strong * (1 if moves else still)
    over_it = {
        place: 1 + (far[place] >= share * together[place])
        for place, bars_over in over.items()
        if bars_over and bars_over >= share * together[place]
    }
    for place in sorted({place for sounding in found for place in sounding}, key=lambda place: -place[1]):
        after = [steps for other, steps in over_it.items() if other[0] == place[0] and other[1] == place[2]]
        if after and not together[place]:
            over_it[place] = max(after)
    return over_it


def _dynamics(material: Material, bars: Sequence[Bar]) -> list[str]:
    """The planned dynamic at each bar line; "" where there is no plan."""
    return [
        next((phrase.at(bar.onset).dynamic for phrase in material.plan if phrase.start <= bar.onset < phrase.end), "")
        for bar in bars
    ]


def _by_bar(
    hands: Hands, material: Material, bars: Sequence[Bar], dynamics: Sequence[str], tables: Tables
) -> list[Mapping[Place, _Sounding]]:
    """Bar by bar what the strands' players have, at the dynamics of the bars."""
    found: list[dict[Place, _Sounding]] = [defaultdict(_Sounding) for _ in bars]
    ends = [bar.end for bar in bars]
    for player, choices in hands:
        for choice in choices:
            notes = _notes(choice, material)
            held = tables.instruments[choice.instrument] if choice.instrument else player.instrument
            last = max((note.end for note in notes), default=choice.start)
            for index in range(bisect_right(ends, choice.start), len(bars)):
                bar, dynamic = bars[index], dynamics[index]
                if bar.onset >= last:
                    break
                here = [note for note in notes if note.onset < bar.end and note.end > bar.onset]
                if here and dynamic:
                    own = found[index][choice.strand, choice.start, choice.end]
                    pitches = [note.pitch.midi + 12 * choice.octave for note in here]
                    own.onsets.update(note.onset for note in here if note.onset >= bar.onset)
                    own.pitches += pitches
                    height, loudness = round(mean(pitches)), manner(tables, choice.techniques)
                    own.power += round(loudness * power(tables, held, player.size, dynamic, height, choice.share))
                    less = DYNAMICS[max(0, DYNAMICS.index(dynamic) - 1)]
                    own.softer += round(loudness * power(tables, held, player.size, less, height, choice.share))
    return [*found]
