"""Who sings: where the tune has words and voices are booked, it is for the one that the staff is named after, or whose range
it lies in."""

from __future__ import annotations

from collections.abc import Iterator

from autoorch.brief import Direction
from autoorch.lineup import Lineup, resolve
from autoorch.roles.cues import direction_at
from autoorch.roles.model import Reading
from autoorch.sketch.model import Sketch, SketchNote

MELODY = "melody"


def sung(sketch: Sketch, reading: Reading, lineup: Lineup) -> Iterator[Direction]:
    """A direction for each run of bars in which the tune has words; none where nobody sings."""
    voices = [player for player in lineup.players if player.instrument.family == "voice"]
    words = {(note.staff, note.voice) for note in sketch.notes if note.lyric}
    tune = [
        sketch.by_id[name]
        for strand in reading.strands
        if strand.role == MELODY
        for line in strand.lines
        for name in line.notes
    ]
    tune = sorted((note for note in tune if (note.staff, note.voice) in words), key=lambda note: note.onset)
    if not voices or not tune:
        return
    low, high = (end(note.pitch.midi for note in tune) for end in (min, max))
    named = {player.name for note in tune for player in resolve(lineup, sketch.staves[note.staff].hint)}
    meant = [player for player in voices if player.name in named] or voices
    able = [p for p in meant if p.instrument.normal[0] <= low and high <= p.instrument.normal[1]]
    singer = (able or meant)[0]
    for start, end in _runs(sketch, tune):
        yield direction_at(sketch, Direction(role=MELODY, prefer=(singer.name,)), start, end)


def _runs(sketch: Sketch, tune: list[SketchNote]) -> list[tuple[int, int]]:
    """From the first to behind the last bar (ticks) of bars on end with such notes."""
    found: list[tuple[int, int]] = []
    for note in tune:
        start, end = sketch.bar_at(note.onset).onset, sketch.bar_at(note.onset + max(1, note.duration) - 1).end
        if found and start <= found[-1][1]:
            found[-1] = found[-1][0], max(found[-1][1], end)
        else:
            found.append((start, end))
    return found
