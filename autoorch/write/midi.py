"""The mock-up: a Standard MIDI File of type 1, 480 ticks a quarter, exactly on the grid, repeats played out.

The first track conducts (tempo, metre, key, rehearsal letters as markers, bar numbers as cue points); then comes one named
track a player or section in score order. More than fifteen players go on with the next port (port meta event) and use
its channels anew; unpitched percussion is on channel 10.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from fractions import Fraction
from math import ceil
from typing import IO, Any

import mido

from autoorch.score.model import Part, Score
from autoorch.write.channels import channels, program
from autoorch.write.dynamics import VELOCITY
from autoorch.write.loudness import Loudness
from autoorch.write.playing import QUARTER, Clock, sounds
from autoorch.write.unfold import unfold

PIZZICATO = 46
"""General MIDI program of plucked strings."""
SUSTAINED = ("wind", "bowed", "voice")
"""Kinds whose loudness changes while a note is held: they get expression (controller 11)."""
EXPRESSION = 11
SOFTEST, STEP = 40, QUARTER // 4
"""Expression under ppp, and how often it moves inside a hairpin (MIDI ticks)."""

_MAJOR = ("Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#")
_MINOR = ("Abm", "Ebm", "Bbm", "Fm", "Cm", "Gm", "Dm", "Am", "Em", "Bm", "F#m", "C#m", "G#m", "D#m", "A#m")

Timed = tuple[int, int, Any]
"""(MIDI tick, order at equal ticks, message)"""
_META, _OFF, _CONTROL, _ON = range(4)


def write_midi(score: Score, file: IO[bytes]) -> None:
    """Write the mock-up of a score."""
    order = unfold(score.bars)
    clock = Clock(score, order)
    midi = mido.MidiFile(type=1, ticks_per_beat=QUARTER, charset="utf-8")
    end = clock.midi(clock.end)
    midi.tracks.append(_track(_conductor(score, order, clock), end))
    for part, place in zip(score.parts, channels(score.parts), strict=True):
        midi.tracks.append(_track(_player(score, part, place, order, clock), end))
    midi.save(file=file)


def _track(timed: Iterable[Timed], end: int) -> Any:
    track = mido.MidiTrack()
    now = 0
    for tick, _, message in sorted(timed, key=lambda row: row[:2]):
        track.append(message.copy(time=tick - now))
        now = tick
    track.append(mido.MetaMessage("end_of_track", time=max(0, end - now)))
    return track


def _conductor(score: Score, order: Sequence[int], clock: Clock) -> Iterable[Timed]:
    yield 0, _META, mido.MetaMessage("track_name", name=score.title or "Conductor")
    if not any(
        mark.kind == "tempo" and mark.value and not mark.onset for mark in score.parts[0].measures[order[0]].directions
    ):
        yield 0, _META, mido.MetaMessage("set_tempo", tempo=mido.bpm2tempo(score.tempo))
    metre = key = None
    for index, start in zip(order, clock.starts, strict=True):
        bar, tick = score.bars[index], clock.midi(start)
        now = _metre(score, index)
        if now != metre:
            metre = now
            yield tick, _META, mido.MetaMessage("time_signature", numerator=now[0], denominator=now[1])
        if (bar.fifths, bar.mode) != key:
            key = bar.fifths, bar.mode
            names = _MINOR if bar.mode == "minor" else _MAJOR
            yield tick, _META, mido.MetaMessage("key_signature", key=names[max(-7, min(7, bar.fifths)) + 7])
        yield tick, _META, mido.MetaMessage("cue_marker", text=f"bar {bar.number}")
        for mark in score.parts[0].measures[index].directions:
            at = clock.midi(start + mark.onset)
            if mark.kind == "tempo" and mark.value:
                yield at, _META, mido.MetaMessage("set_tempo", tempo=mido.bpm2tempo(float(mark.value)))
            elif mark.kind == "rehearsal":
                yield at, _META, mido.MetaMessage("marker", text=mark.value)


def _metre(score: Score, index: int) -> tuple[int, int]:
    """The metre that makes this bar its real length: its own, or for short and long bars as many units as it has."""
    bar = score.bars[index]
    beats, unit = bar.metre
    for finer in (unit, 2 * unit, 4 * unit):
        count, rest = divmod(bar.length * finer, 4 * score.ticks)
        if not rest and 0 < count < 256 and finer <= 64:
            return (beats, unit) if count * unit == beats * finer else (count, finer)
    return beats, unit


def _player(score: Score, part: Part, place: tuple[int, int], order: Sequence[int], clock: Clock) -> Iterable[Timed]:
    port, channel = place[0] - 1, place[1] - 1
    instrument = part.player.instrument
    yield 0, _META, mido.MetaMessage("track_name", name=part.player.name)
    yield 0, _META, mido.MetaMessage("midi_port", port=port)
    if instrument.gm:
        yield 0, _CONTROL, mido.Message("program_change", channel=channel, program=program(part) - 1)
    loudness = Loudness(part, score.bars)
    yield from _techniques(part, channel, order, clock)
    if instrument.kind in SUSTAINED:
        yield from _expression(score, loudness, channel, order, clock)
    for sound in sounds(score, part, order, clock, loudness):
        yield sound.start, _ON, mido.Message("note_on", channel=channel, note=sound.midi, velocity=sound.velocity)
        yield sound.end, _OFF, mido.Message("note_off", channel=channel, note=sound.midi, velocity=64)


def _techniques(part: Part, channel: int, order: Sequence[int], clock: Clock) -> Iterable[Timed]:
    """Program changes for pizzicato and back."""
    for index, start in zip(order, clock.starts, strict=True):
        for mark in part.measures[index].directions:
            if mark.kind == "words" and mark.value in ("pizz.", "arco"):
                number = PIZZICATO if mark.value == "pizz." else program(part)
                yield (
                    clock.midi(start + mark.onset), _CONTROL,
                    mido.Message("program_change", channel=channel, program=number - 1),
                )  # fmt: skip


def _expression(score: Score, loudness: Loudness, channel: int, order: Sequence[int], clock: Clock) -> Iterable[Timed]:
    """Expression at each dynamic and along each hairpin; only changes are sent."""
    sent = -1
    step = Fraction(STEP * score.ticks, QUARTER)
    moves = {Fraction(bar.onset) for bar in score.bars}
    for ramp in loudness.ramps:
        moves.update(ramp.start + k * step for k in range(max(1, ceil((ramp.end - ramp.start) / step)) + 1))
    curve = [(tick, _controller(loudness.at(tick))) for tick in sorted(moves)]
    for index, start in zip(order, clock.starts, strict=True):
        bar = score.bars[index]
        first, last = (bisect_left(curve, (Fraction(tick), -1)) for tick in (bar.onset, bar.end))
        for tick, value in curve[first:last]:
            if value != sent:
                sent = value
                yield (
                    clock.midi(start - bar.onset + tick), _CONTROL,
                    mido.Message("control_change", channel=channel, control=EXPRESSION, value=value),
                )  # fmt: skip


def _controller(velocity: float) -> int:
    low, high = VELOCITY["ppp"], VELOCITY["fff"]
    share = min(1.0, max(0.0, (velocity - low) / (high - low)))
    return round(SOFTEST + share * (127 - SOFTEST))
