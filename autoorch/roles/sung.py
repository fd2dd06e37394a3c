"""Who sings: where the tune has words and voices are booked, it is for the one that the staff is named after, or whose range
it lies in; bass and inner voices that have words too, or go with it in a hymn, are for the other voices."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product

from autoorch.brief import Direction
from autoorch.lineup import Lineup, Player, resolve
from autoorch.roles.cues import direction_at
from autoorch.roles.model import Reading
from autoorch.sketch.model import Sketch, SketchNote

MELODY = "melody"
BASS = "bass"
HYMN = "hymn"
"""Texture of voices that have the words of the tune."""
OTHERS = {BASS: BASS, "inner": "harmony", "counterline": "counterline"}
"""Roles that a choir's other voices have, and what a direction calls them."""


def sung(sketch: Sketch, reading: Reading, lineup: Lineup) -> Iterator[Direction]:
    """A direction for each run of bars in which the tune has words, then for those in which other voices have; none where nobody
    sings."""
    voices = [player for player in lineup.players if player.instrument.family == "voice"]
    tune = _worded(sketch, reading, MELODY)
    if not voices or not tune:
        return
    low, high = (end(note.pitch.midi for note in tune) for end in (min, max))
    named = {player.name for note in tune for player in resolve(lineup, sketch.staves[note.staff].hint)}
    meant = [player for player in voices if player.name in named] or voices
    able = [p for p in meant if p.instrument.normal[0] <= low and high <= p.instrument.normal[1]]
    singer = (able or meant)[0]
    for start, end in _runs(sketch, tune):
        yield direction_at(sketch, Direction(role=MELODY, prefer=(singer.name,)), start, end)
    left = [player for player in voices if player is not singer]
    hymn = any(strand.texture == HYMN for strand in reading.strands)
    for role, called in OTHERS.items():
        notes = _worded(sketch, reading, role, tune if hymn else ())
        ours = _singers(left, notes, role)
        if ours:
            left = [player for player in left if player not in ours]
            for (start, end), player in product(_runs(sketch, notes), ours):
                yield direction_at(sketch, Direction(role=called, prefer=(player.name,)), start, end)


def _worded(sketch: Sketch, reading: Reading, role: str, along: Sequence[SketchNote] = ()) -> list[SketchNote]:
    """The notes of a role in the voices that have words, or while those sound whose words they share, in time order."""
    words = {(note.staff, note.voice) for note in sketch.notes if note.lyric}
    shared = _runs(sketch, along)
    strands = [strand for strand in reading.strands if strand.role == role]
    notes = (sketch.by_id[name] for strand in strands for line in strand.lines for name in line.notes)
    sung_ = (
        note
        for note in notes
        if (note.staff, note.voice) in words or any(start <= note.onset < end for start, end in shared)
    )
    return sorted(sung_, key=lambda note: note.onset)


def _singers(voices: Sequence[Player], notes: Sequence[SketchNote], role: str) -> tuple[Player, ...]:
    """Of the voices that are left the lowest for a bass, and all for what lies between."""
    if not voices or not notes:
        return ()
    return (min(voices, key=lambda player: player.instrument.normal[0]),) if role == BASS else tuple(voices)


def _runs(sketch: Sketch, tune: Sequence[SketchNote]) -> list[tuple[int, int]]:
    """From the first to behind the last bar (ticks) of bars on end with such notes."""
    found: list[tuple[int, int]] = []
    for note in tune:
        start, end = sketch.bar_at(note.onset).onset, sketch.bar_at(note.onset + max(1, note.duration) - 1).end
        if found and start <= found[-1][1]:
            found[-1] = found[-1][0], max(found[-1][1], end)
        else:
            found.append((start, end))
    return found
