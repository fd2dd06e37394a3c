"""A score as it is played: for each part its timed MIDI messages, and those of the conductor; the files are made from it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import mido

from autoorch.instruments import Instrument
from autoorch.score.model import Score
from autoorch.tables import Tables
from autoorch.write.channels import channels, program
from autoorch.write.clock import Clock
from autoorch.write.expression import EXPRESSION, SUSTAINED, curve
from autoorch.write.humanise import humanise
from autoorch.write.loudness import Loudness
from autoorch.write.manner import Manner, read_manner
from autoorch.write.playing import Player, Sound
from autoorch.write.tempo import TempoMap, tempo_map
from autoorch.write.unfold import unfold

MODULATION = 1
"""Controller."""

_MAJOR = ("Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#")
_MINOR = ("Abm", "Ebm", "Bbm", "Fm", "Cm", "Gm", "Dm", "Am", "Em", "Bm", "F#m", "C#m", "G#m", "D#m", "A#m")

Timed = tuple[int, int, Any]
"""(MIDI tick, order at equal ticks, message)"""
META, OFF, CONTROL, ON = range(4)


@dataclass(frozen=True)
class Performance:
    """What sounds when.

    Attributes:
        order: indices of the bars as they are played.
        places: port and channel of each part, both from 1.
        controls: for each part its programs and controllers, on that channel; sounds: its notes.
        end: MIDI tick at the end of the last bar.
    """

    score: Score
    order: tuple[int, ...]
    clock: Clock
    tempo: TempoMap
    conductor: tuple[Timed, ...]
    places: tuple[tuple[int, int], ...]
    controls: tuple[tuple[Timed, ...], ...]
    sounds: tuple[tuple[Sound, ...], ...]
    end: int

    @property
    def seconds(self) -> float:
        return self.tempo.seconds(self.end)


def perform(
    score: Score, tables: Tables | None = None, *, seed: int | None = None, modulation: bool = False
) -> Performance:
    """Play a score.

    Args:
        tables: the packaged ones where None.
        seed: of uneven timing; exactly on the grid where None.
        modulation: send the expression curves as controller 1 too.

    Raises:
        TableError: where constraints/playing.toml breaks its schema.
    """
    manner = read_manner(tables)
    order = unfold(score.bars)
    clock = Clock(score, order)
    tempo = tempo_map(score, order, clock, manner)
    end = clock.midi(clock.end)
    places = channels(score.parts)
    controls, sounds = [], []
    for part, (_, channel) in zip(score.parts, places, strict=True):
        player = Player(score, part, order, clock, tempo, Loudness(part, score.bars, manner), manner)
        played = player.sounds()
        controls.append(tuple(_controls(player, channel - 1, played, modulation)))
        moved = played if seed is None else humanise(played, tempo, end, manner, seed, part.id)
        sounds.append(tuple(moved))
    return Performance(
        score,
        order,
        clock,
        tempo,
        tuple(_conducted(score, order, clock, tempo)),
        places,
        tuple(controls),
        tuple(sounds),
        end,
    )


def _conducted(score: Score, order: Sequence[int], clock: Clock, tempo: TempoMap) -> Iterator[Timed]:
    yield 0, META, mido.MetaMessage("track_name", name=score.title or "Conductor")
    for start, micros in zip(tempo.starts, tempo.micros, strict=True):
        yield start, META, mido.MetaMessage("set_tempo", tempo=micros)
    metre = key = None
    for index, start in zip(order, clock.starts, strict=True):
        bar, tick = score.bars[index], clock.midi(start)
        now = _metre(score, index)
        if now != metre:
            metre = now
            yield tick, META, mido.MetaMessage("time_signature", numerator=now[0], denominator=now[1])
        if (bar.fifths, bar.mode) != key:
            key = bar.fifths, bar.mode
            names = _MINOR if bar.mode == "minor" else _MAJOR
            yield tick, META, mido.MetaMessage("key_signature", key=names[max(-7, min(7, bar.fifths)) + 7])
        yield tick, META, mido.MetaMessage("cue_marker", text=f"bar {bar.number}")
        for mark in score.parts[0].measures[index].directions:
            if mark.kind == "rehearsal":
                yield clock.midi(start + mark.onset), META, mido.MetaMessage("marker", text=mark.value)


def _metre(score: Score, index: int) -> tuple[int, int]:
    """The metre that makes this bar its real length: its own, or for short and long bars as many units as it has."""
    bar = score.bars[index]
    beats, unit = bar.metre
    for finer in (unit, 2 * unit, 4 * unit):
        count, rest = divmod(bar.length * finer, 4 * score.ticks)
        if not rest and 0 < count < 256 and finer <= 64:
            return (beats, unit) if count * unit == beats * finer else (count, finer)
    return beats, unit


def _controls(player: Player, channel: int, played: Sequence[Sound], modulation: bool) -> Iterator[Timed]:
    part = player.part
    instrument = part.player.instrument
    if instrument.gm:
        yield 0, CONTROL, mido.Message("program_change", channel=channel, program=program(part) - 1)
        yield from _sounds_of(player, channel)
    if instrument.kind in SUSTAINED:
        controllers = (EXPRESSION, MODULATION) if modulation else (EXPRESSION,)
        for tick, value in curve(player.score, player.order, player.clock, player.loudness, played, player.manner):
            for number in controllers:
                yield tick, CONTROL, mido.Message("control_change", channel=channel, control=number, value=value)


def notes(played: Sequence[Sound], channel: int) -> Iterator[Timed]:
    """The messages of notes; `channel` from 0."""
    for sound in played:
        yield sound.start, ON, mido.Message("note_on", channel=channel, note=sound.midi, velocity=sound.velocity)
        yield sound.end, OFF, mido.Message("note_off", channel=channel, note=sound.midi, velocity=64)


def _sounds_of(player: Player, channel: int) -> Iterator[Timed]:
    """Program changes: at the bar from which another instrument is held, where a word of the part changes its sound, and where
    another word brings the instrument's own sound back."""
    usual = player.part.player.instrument
    own = now = program(player.part)
    special = 0
    for index, start in zip(player.order, player.clock.starts, strict=True):
        measure = player.part.measures[index]
        instrument = measure.held or usual
        own = measure.held.gm if measure.held else program(player.part)
        changes = [(start, special or own)]
        words = _words(instrument, player.manner)
        for mark in measure.directions:
            if mark.kind == "words" and mark.value in words:
                special = words[mark.value]
                changes.append((start + mark.onset, special or own))
        for tick, wanted in changes:
            if wanted != now:
                now = wanted
                message = mido.Message("program_change", channel=channel, program=now - 1)
                yield player.clock.midi(tick), CONTROL, message


def _words(instrument: Instrument, manner: Manner) -> dict[str, int]:
    """Word -> program, 0 for the instrument's own."""
    found: dict[str, int] = {}
    for row in manner["sound"]:
        if {instrument.id, instrument.kind} & set(row["players"]):
            found |= {row["word"]: row["program"], **dict.fromkeys(row["back"], 0)}
    return found
