"""Moments: the places that ask for something, from the tune, the chords, the phrases and the sketch's marks."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from autoorch.instruments import DYNAMICS
from autoorch.roles.model import Chord, Moment, Phrase
from autoorch.roles.parameters import Section
from autoorch.roles.texture import Texture, Tone


def find_moments(
    texture: Texture, tune: Sequence[Tone], phrases: Sequence[Phrase], chords: Sequence[Chord], table: Section
) -> tuple[Moment, ...]:
    """All moments in order of time and kind."""
    found = [*_of_tune(texture, tune, table), *_of_chords(chords, phrases, table), *_of_marks(texture, table)]
    if texture.onsets:
        found.append(Moment(texture.onsets[-1], "last", 1.0))
    seen: set[str] = set()
    for phrase in phrases[1:]:
        letter = phrase.label.rstrip("'")
        if letter not in seen:
            found.append(Moment(phrase.start, "arrival", table["arrival"]))
        seen.add(letter)
    return tuple(sorted(set(found), key=lambda m: (m.onset, m.kind, -m.strength)))


def _of_tune(texture: Texture, tune: Sequence[Tone], table: Section) -> list[Moment]:
    found = []
    if tune:
        late = table["late"] * texture.sketch.end
        top = max(tune, key=lambda t: (t.pitch, t.onset >= late, t.length, -t.onset))
        found.append(Moment(top.onset, "climax", 1.0))
    for a, b in pairwise(tune):
        leap = abs(b.pitch - a.pitch)
        if leap >= table["leap"] and b.onset - a.end <= texture.beat_at(b.onset):
            found.append(Moment(b.onset, "leap", min(1.0, leap / table["leap_full"])))
    return found


def _of_chords(chords: Sequence[Chord], phrases: Sequence[Phrase], table: Section) -> list[Moment]:
    found = []
    ends = [phrase.end for phrase in phrases]
    for before, chord in pairwise(chords):
        if chord.key != before.key:
            found.append(Moment(chord.start, "key", table["key"]))
        if chord.borrowed and not before.borrowed:
            found.append(Moment(chord.start, "borrowed", table["borrowed"]))
        falls = before.root is not None and chord.root is not None and (before.root - chord.root) % 12 == 7
        at_end = any(chord.start < end <= chord.end + (chord.end - chord.start) for end in ends)
        if falls and at_end and chord.root == chord.key[0]:
            found.append(Moment(chord.start, "cadence", table["cadence"]))
    return found


def _of_marks(texture: Texture, table: Section) -> list[Moment]:
    sketch = texture.sketch
    found = [Moment(n.onset, "fermata", table["fermata"]) for n in sketch.notes if "fermata" in n.marks]
    marks = [m for m in sketch.marks if m.kind == "dynamic" and m.value in DYNAMICS]
    for a, b in pairwise(marks):
        jump = abs(DYNAMICS.index(b.value) - DYNAMICS.index(a.value))
        if jump >= table["sudden"]:
            found.append(Moment(b.onset, "sudden", min(1.0, jump / (len(DYNAMICS) - 1))))
    return found
