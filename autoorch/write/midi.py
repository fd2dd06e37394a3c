"""The mock-up: a Standard MIDI File of type 1, 480 ticks a quarter, exactly on the grid, repeats played out.

The first track conducts (tempo, metre, key, rehearsal letters as markers, bar numbers as cue points); then comes one named
track a player or section in score order. More than fifteen players go on with the next port (port meta event) and use
its channels anew; unpitched percussion is on channel 10.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import IO, Any

import mido

from autoorch.score.model import Score
from autoorch.tables import Tables
from autoorch.write.clock import QUARTER
from autoorch.write.performance import Performance, Timed, notes, perform


def write_midi(
    score: Score,
    file: IO[bytes],
    tables: Tables | None = None,
    *,
    seed: int | None = None,
    modulation: bool = False,
) -> None:
    """Write the mock-up of a score; the arguments are those of `perform`.

    Raises:
        TableError: where constraints/playing.toml breaks its schema.
    """
    midi_file(perform(score, tables, seed=seed, modulation=modulation)).save(file=file)


def midi_file(performance: Performance) -> Any:
    """The whole performance as mido's MidiFile."""
    midi = mido.MidiFile(type=1, ticks_per_beat=QUARTER, charset="utf-8")
    midi.tracks.append(track(performance.conductor, performance.end))
    rows = zip(performance.score.parts, performance.places, performance.controls, performance.sounds, strict=True)
    for part, (port, channel), controls, played in rows:
        head = [
            (0, -2, mido.MetaMessage("track_name", name=part.player.name)),
            (0, -1, mido.MetaMessage("midi_port", port=port - 1)),
        ]
        midi.tracks.append(track([*head, *controls, *notes(played, channel - 1)], performance.end))
    return midi


def track(timed: Iterable[Timed], end: int) -> Any:
    """mido's MidiTrack of timed messages, ended at `end`."""
    found = mido.MidiTrack()
    now = 0
    for tick, _, message in sorted(timed, key=lambda row: row[:2]):
        message.time = tick - now
        found.append(message)
        now = tick
    found.append(mido.MetaMessage("end_of_track", time=max(0, end - now)))
    return found
