"""Timing and touch that are a little uneven, on request: bounded, and the same for the same seed."""

from __future__ import annotations

import random
from collections.abc import Sequence

from autoorch.write.clock import QUARTER
from autoorch.write.manner import Manner
from autoorch.write.playing import Sound, apart
from autoorch.write.tempo import TempoMap


def humanise(played: Sequence[Sound], tempo: TempoMap, end: int, manner: Manner, seed: int, part: str) -> list[Sound]:
    """The notes moved by at most the table's seconds and velocities; what begins together in a part stays together.

    Args:
        played: by start.
        end: MIDI tick that no note may pass.
        part: id of the part, so that each player is uneven in his own way.
    """
    table = manner["humanise"]
    dice = random.Random(f"{seed} {part}")
    found: list[Sound] = []
    moved: dict[int, int] = {}
    for sound in played:
        if sound.start not in moved:
            ticks = dice.uniform(-1, 1) * table["seconds"] * tempo.quarters_a_minute(sound.start) / 60 * QUARTER
            moved[sound.start] = int(ticks)
        shift = moved[sound.start]
        start = min(max(0, sound.start + shift), end - 1)
        stop = min(max(start + 1, sound.end + shift), end)
        velocity = min(127, max(1, sound.velocity + dice.randint(-table["velocity"], table["velocity"])))
        found.append(Sound(start, stop, sound.midi, velocity, sound.source))
    return apart(sorted(found, key=lambda s: (s.start, s.midi, s.end)))
