"""How loud each player of a soundfont is, and the volume at which he is as strong as the table of powers says.

Soundfonts set their instruments as they please. Each sound is played once, in the middle of its range at mf, and measured; what
is missing to the power of the player or section (constraints/balance.toml) is made up by controller 7, within bounds.
"""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from math import log10
from statistics import median
from typing import Any

import mido

from autoorch.power import power
from autoorch.score.model import Part
from autoorch.tables import Tables
from autoorch.write.channels import program
from autoorch.write.clock import QUARTER
from autoorch.write.dynamics import VELOCITY
from autoorch.write.expression import EXPRESSION, SUSTAINED, controller
from autoorch.write.manner import Manner

VOLUME = 7
"""Controller."""
FULL, SQUARE = 127, 40
"""Volume v is SQUARE * log10(v / FULL) decibels (General MIDI level 1)."""
SOUND, SPACE = 2, 4
"""Quarters at 120 a minute: how long each sound is held, and from one to the next."""
DYNAMIC = "mf"

Sound = tuple[int, int, bool]
"""(program, MIDI number, swells with controller 11)"""


def volumes(parts: Sequence[Part], tables: Tables, manner: Manner, font: bytes) -> tuple[int, ...]:
    """Controller 7 of each part. Unpitched percussion, whose strokes can't be measured so, stands in the middle of the others."""
    sounds = [_sound(part) for part in parts]
    known = sorted({sound for sound in sounds if sound})
    if not known:
        return (FULL,) * len(parts)
    measured = dict(zip(known, _measured(known, manner, font), strict=True))
    trims = [
        _wanted(part, tables) - measured[sound] if sound else None for part, sound in zip(parts, sounds, strict=True)
    ]
    middle = median(trim for trim in trims if trim is not None)
    bound = manner["loudness"]["trim"]
    bounded = [max(-bound, min(bound, (middle if trim is None else trim) - middle)) for trim in trims]
    return tuple(round(FULL * 10 ** ((trim - max(bounded)) / SQUARE)) for trim in bounded)


def _sound(part: Part) -> Sound | None:
    instrument = part.player.instrument
    if not instrument.gm:
        return None
    low, high = instrument.registers[0].low, instrument.registers[-1].high
    return program(part), (low + high) // 2, instrument.kind in SUSTAINED


def _wanted(part: Part, tables: Tables) -> float:
    """Decibels against one woodwind: as many players as the power counts, 3 dB for each doubling."""
    return 10 * log10(power(tables, part.player.instrument, part.player.size, DYNAMIC))


def _measured(sounds: Sequence[Sound], manner: Manner, font: bytes) -> list[float]:
    """Loudness of each sound while it is held (ITU-R BS.1770-4), in LUFS."""
    import midirenderer
    import pyloudnorm
    import soundfile

    file = BytesIO()
    _scale(sounds, manner).save(file=file)
    samples, rate = soundfile.read(BytesIO(midirenderer.render_wave_from(font, file.getvalue())), always_2d=True)
    meter = pyloudnorm.Meter(rate)
    second = rate * 60 // 120
    pieces = [samples[k * SPACE * second : (k * SPACE + SOUND) * second] for k in range(len(sounds))]
    return [float(meter.integrated_loudness(piece)) for piece in pieces]


def _scale(sounds: Sequence[Sound], manner: Manner) -> Any:
    """A file with one sound after the other."""
    midi = mido.MidiFile(type=1, ticks_per_beat=QUARTER)
    track = mido.MidiTrack([mido.MetaMessage("set_tempo", tempo=500_000)])
    level = round(controller(VELOCITY[DYNAMIC], manner["expression"]["softest"]))
    wait = 0
    for number, pitch, swells in sounds:
        track.append(mido.Message("program_change", program=number - 1, time=wait))
        track.append(mido.Message("control_change", control=EXPRESSION, value=level if swells else FULL))
        track.append(mido.Message("note_on", note=pitch, velocity=VELOCITY[DYNAMIC]))
        track.append(mido.Message("note_off", note=pitch, velocity=64, time=SOUND * QUARTER))
        wait = (SPACE - SOUND) * QUARTER
    midi.tracks.append(track)
    return midi
