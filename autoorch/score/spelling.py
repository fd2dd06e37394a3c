"""Names of notes that a transposing player would choose: a double accidental that came of the transposition stays only where
it leads to its neighbour (F double sharp to G sharp); else the plain name stands.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from autoorch.pitch import Pitch, from_midi
from autoorch.score.model import Event, Head, Measure

TWIN = 12
"""Fifths between two names of one sound."""


def plainly(measures: Sequence[Measure]) -> tuple[Measure, ...]:
    """The bars with as few double accidentals as serve the reader; tied notes keep one name."""
    flat = [
        (number, rank, place)
        for number, measure in enumerate(measures)
        for rank, voice in enumerate(measure.voices)
        for place, event in enumerate(voice)
        if any(abs(head.written.alter) > 1 for head in event.heads)
    ]
    if not flat:
        return tuple(measures)
    voices = [[list(voice) for voice in measure.voices] for measure in measures]
    named: dict[tuple[int, int], Pitch] = {}
    for number, rank, place in flat:
        event = voices[number][rank][place]
        after = _next(measures, number, rank, place)
        heads = tuple(_head(head, after, named, rank) for head in event.heads)
        voices[number][rank][place] = replace(event, heads=heads)
    return tuple(
        replace(measure, voices=tuple(tuple(voice) for voice in own))
        for measure, own in zip(measures, voices, strict=True)
    )


def _head(head: Head, after: Event | None, named: dict[tuple[int, int], Pitch], rank: int) -> Head:
    if abs(head.written.alter) < 2:
        return head
    key = (rank, head.written.midi)
    if head.tie_stop and key in named:
        return replace(head, written=named[key])
    leads = after is not None and any(_leads(head.written, other.written) for other in after.heads)
    name = head.written if leads and not head.tie_start else plain(head.written)
    named[key] = name
    return replace(head, written=name)


def plain(pitch: Pitch) -> Pitch:
    """The name of the same sound with fewer accidentals."""
    return from_midi(pitch.midi, pitch.fifths - TWIN * (1 if pitch.alter > 0 else -1))


def _leads(pitch: Pitch, to: Pitch) -> bool:
    """A raised note goes up, a lowered one down, by a semitone to the next letter."""
    way = 1 if pitch.alter > 0 else -1
    return to.diatonic - pitch.diatonic == way and to.midi - pitch.midi == way


def _next(measures: Sequence[Measure], number: int, rank: int, place: int) -> Event | None:
    """The event after one in the same voice, over the bar line too."""
    voice = measures[number].voices[rank]
    if place + 1 < len(voice):
        return voice[place + 1]
    following = measures[number + 1].voices if number + 1 < len(measures) else ()
    return following[rank][0] if rank < len(following) else None
