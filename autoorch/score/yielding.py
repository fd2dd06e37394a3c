"""Who is marked a degree softer than the place says, so that what belongs above is heard there.

Brass in loud chords that the woodwind have too, so that the chord is one chord (common practice; a trumpet has the strength of
two horns or four woodwinds: Rimsky-Korsakov ch. I). An accompaniment that lies near the tune, moves and is stronger than it: an
accompaniment is softer than the line it accompanies (the same work, ch. IV).
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from statistics import mean

from autoorch.instruments import DYNAMICS
from autoorch.layers.model import Material
from autoorch.lineup import Player
from autoorch.power import power
from autoorch.problem.draft import Choice
from autoorch.score.notation import Notation
from autoorch.sketch.model import Bar
from autoorch.tables import Tables

Spans = tuple[tuple[int, int], ...]
"""(start, end) in the sketch's ticks."""
Yield = tuple[int, int, tuple[str, ...]]
"""(start, end in the sketch's ticks, dynamics that are marked a degree softer there)"""
Place = tuple[str, int, int]
"""(strand, start, end) of choices"""
Hands = Iterable[tuple[Player, Sequence[Choice]]]
"""Players with what is theirs."""


def yields(
    player: Player,
    choices: Iterable[Choice],
    covered: Spans,
    over: frozenset[Place],
    material: Material,
    house: Notation,
) -> tuple[Yield, ...]:
    """Where a player gives way, and at which dynamics.

    Args:
        choices: his own.
        covered: see `chords_of`, those of the woodwind.
        over: see `over_the_tune`.
    """
    own = tuple(choices)
    chords = _chords(own, material) if player.instrument.id in house.dynamics["yielding"] else ()
    loud = {(start, end) for start, end in chords if any(first < end and last > start for first, last in covered)}
    under = {(c.start, c.end) for c in own if (c.strand, c.start, c.end) in over}
    at, always = tuple(house.dynamics["yield_at"]), DYNAMICS[1:]
    return (*((*span, at) for span in sorted(loud)), *((*span, always) for span in sorted(under)))


def chords_of(family: str, choices: Iterable[tuple[Player, Choice]], material: Material) -> Spans:
    """Where players of a family have chords."""
    return _chords((choice for player, choice in choices if player.instrument.family == family), material)


def _chords(choices: Iterable[Choice], material: Material) -> Spans:
    found = {(c.start, c.end) for c in choices if material.strand[c.strand].role == "inner"}
    return tuple(sorted(found))


@dataclass
class _Sounding:
    """What one strand's players have in one bar: ticks and pitches of their attacks, summed power in hundredths."""

    onsets: set[int] = field(default_factory=set)
    pitches: list[int] = field(default_factory=list)
    power: int = 0


def over_the_tune(
    hands: Hands, material: Material, bars: Sequence[Bar], tables: Tables, house: Notation
) -> frozenset[Place]:
    """The accompaniments that would cover the tune at one dynamic, in the share of their bars with a tune that
    notation.toml names; nothing where there is no plan."""
    reach, share = tables.rule("balance")["reach"], house.dynamics["over_share"]
    together, over = Counter[Place](), Counter[Place]()
    for sounding in _by_bar(hands, material, bars, tables):
        tunes = [own for place, own in sounding.items() if material.strand[place[0]].role == "melody"]
        if not tunes:
            continue
        strong = max(own.power for own in tunes)
        height = mean(pitch for own in tunes for pitch in own.pitches)
        for place, own in sounding.items():
            if material.strand[place[0]].role in house.dynamics["accompanying"]:
                near = len(own.onsets) > 1 and abs(mean(own.pitches) - height) <= reach
                together[place] += 1
                over[place] += near and own.power > strong
    return frozenset(place for place, bars_over in over.items() if bars_over and bars_over >= share * together[place])


def _by_bar(hands: Hands, material: Material, bars: Sequence[Bar], tables: Tables) -> list[Mapping[Place, _Sounding]]:
    """Bar by bar what the strands' players have, at the dynamic that is planned there."""
    found: list[dict[Place, _Sounding]] = [defaultdict(_Sounding) for _ in bars]
    dynamics = [
        next((phrase.at(bar.onset).dynamic for phrase in material.plan if phrase.start <= bar.onset < phrase.end), "")
        for bar in bars
    ]
    for player, choices in hands:
        for choice in choices:
            notes = [
                note
                for line in choice.lines
                for note in material.line[line].notes
                if choice.start <= note.onset < choice.end and note.duration
            ]
            for index, (bar, dynamic) in enumerate(zip(bars, dynamics, strict=True)):
                here = [note for note in notes if bar.onset <= note.onset < bar.end]
                if here and dynamic:
                    own = found[index][choice.strand, choice.start, choice.end]
                    pitches = [note.pitch.midi + 12 * choice.octave for note in here]
                    own.onsets.update(note.onset for note in here)
                    own.pitches += pitches
                    own.power += power(
                        tables, player.instrument, player.size, dynamic, round(mean(pitches)), choice.share
                    )
    return [*found]
