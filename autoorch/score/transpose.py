"""Sounding to written pitch: each player's key and spelling, in the transposed score and at concert pitch."""

from __future__ import annotations

from dataclasses import replace

from autoorch.pitch import Pitch, from_midi
from autoorch.score.clefs import set_clefs
from autoorch.score.model import Event, Head, Measure, Part, Score
from autoorch.score.spelling import plainly

MOST_ACCIDENTALS = 6
"""A transposed key with more sharps or flats is written as its enharmonic twin (common practice)."""
_TWIN = 12
"""Fifths between enharmonic twins (F sharp and G flat)."""


def transposed(score: Score) -> Score:
    """The score as its players read it."""
    return _written(score, concert=False)


def at_concert_pitch(score: Score) -> Score:
    """The score at sounding pitch; octave transposers stay at their customary octave."""
    return _written(score, concert=True)


def key_of(fifths: int, interval: tuple[int, int]) -> int:
    """The written key signature of a transposing player where the music has `fifths`; who transposes by octaves has that."""
    moved = fifths + 7 * interval[1] - 12 * interval[0]
    if moved == fifths:
        return fifths
    if moved > MOST_ACCIDENTALS:
        return moved - _TWIN
    return moved + _TWIN if moved < -MOST_ACCIDENTALS else moved


def written_pitch(sounding: Pitch, interval: tuple[int, int], fifths: int, key: int) -> Pitch:
    """The written note, spelled for the written `key` where the music is in `fifths`."""
    moved = sounding.transposed(*interval)
    turn = key - fifths - (7 * interval[1] - 12 * interval[0])
    return from_midi(moved.midi, moved.fifths + turn) if turn else moved


def _written(score: Score, concert: bool) -> Score:
    parts = tuple(_part(score, part, concert) for part in score.parts)
    return replace(score, parts=parts, concert=concert)


def interval_of(part: Part, measure: Measure, concert: bool) -> tuple[int, int]:
    """(diatonic steps, semitones) from sounding to written in a bar, for the instrument that is played there."""
    interval = (measure.held or part.player.instrument).transposition
    return (0, 0) if concert and interval[0] % 7 else interval


def _part(score: Score, part: Part, concert: bool) -> Part:
    measures = []
    pitched = part.player.instrument.kind != "unpitched"
    for bar, measure in zip(score.bars, part.measures, strict=True):
        interval = interval_of(part, measure, concert)
        key = key_of(bar.fifths, interval) if pitched else 0
        voices = tuple(
            tuple(_event(event, interval, bar.fifths, key) if event.heads else event for event in voice)
            for voice in measure.voices
        )
        measures.append(replace(measure, voices=voices, fifths=key))
    first = interval_of(part, part.measures[0], concert) if part.measures else (0, 0)
    moved = any(interval_of(part, measure, concert)[0] % 7 for measure in part.measures)
    page = plainly(measures) if moved else tuple(measures)
    return set_clefs(replace(part, measures=page, transposition=first), score.house)


def _event(event: Event, interval: tuple[int, int], fifths: int, key: int) -> Event:
    heads = tuple(_head(head, interval, fifths, key) for head in event.heads)
    return replace(event, heads=heads)


def _head(head: Head, interval: tuple[int, int], fifths: int, key: int) -> Head:
    return replace(head, written=written_pitch(head.sounding, interval, fifths, key))


def without_keys(score: Score) -> Score:
    """The score without key signatures, as it is read at recordings; every accidental is written."""
    parts = (replace(part, measures=tuple(replace(m, fifths=0) for m in part.measures)) for part in score.parts)
    bars = tuple(replace(bar, fifths=0, mode="") for bar in score.bars)
    return replace(score, parts=tuple(parts), bars=bars)
