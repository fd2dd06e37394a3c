"""Where voices take up a subject from each other: the strand that has each entry, from its first note to its last."""

from __future__ import annotations

from collections import Counter

from autoorch.layers.model import Entrance
from autoorch.roles.model import Reading
from autoorch.sketch.model import Sketch


def entrances(sketch: Sketch, reading: Reading) -> tuple[Entrance, ...]:
    """One an entry of the reading, in time order, with the line that has most of its notes."""
    place = {n: (s.id, line.id) for s in reading.strands for line in s.lines for n in line.notes}
    found = []
    for entry in reading.entries:
        (strand, line), _ = Counter(place[note] for note in entry.notes).most_common(1)[0]
        own = [sketch.by_id[note] for note in entry.notes if place[note] == (strand, line)]
        found.append(Entrance(entry.subject, strand, line, own[0].onset, max(note.end for note in own)))
    return tuple(sorted(found, key=lambda entrance: (entrance.start, entrance.strand)))
