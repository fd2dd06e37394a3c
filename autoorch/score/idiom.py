"""Which of the sketch's signs mean something to a player: a pianist's fingerings don't, a trill does."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from autoorch.instruments import Instrument
from autoorch.score.model import Part
from autoorch.score.notation import Notation
from autoorch.score.tremolo import START, is_pair
from autoorch.sketch.model import Sketch

ARTICULATIONS = ("accent", "strong-accent", "staccato", "tenuto", "detached-legato", "staccatissimo", "spiccato",
    "scoop", "plop", "doit", "falloff", "breath-mark", "caesura", "stress", "unstress")  # fmt: skip
ORNAMENTS = ("trill-mark", "turn", "delayed-turn", "inverted-turn", "delayed-inverted-turn", "vertical-turn",
    "inverted-vertical-turn", "shake", "mordent", "inverted-mordent", "schleifer", "haydn")  # fmt: skip
TECHNICAL = ("up-bow", "down-bow", "harmonic", "open-string", "snap-pizzicato", "thumb-position", "stopped")
SINGLE_TREMOLO = "tremolo-"
ARPEGGIO = "arpeggiate"


def player_marks(
    instrument: Instrument,
    sounding: Sequence[Sequence[str]],
    starting: Sequence[Sequence[str]],
    heads: int,
    house: Notation,
) -> tuple[str, ...]:
    """The signs of one written event, sorted.

    Args:
        instrument: who plays it.
        sounding: the sketch's signs on all notes of the event (a tremolo goes on over a tie).
        starting: those on the notes that begin here.
        heads: notes in the chord (only a chord can be spread).
        house: which signs mean something to which kind of instrument.
    """
    kept = house.signs[instrument.kind]
    found = {mark for marks in starting for mark in marks if mark in kept and (heads > 1 or mark != ARPEGGIO)}
    found |= {mark for marks in sounding for mark in marks if is_single_tremolo(mark)}
    if instrument.family in house.trembling:
        found |= {mark for marks in starting for mark in marks if is_pair(mark)}
    return tuple(sorted(found))


def is_single_tremolo(mark: str) -> bool:
    """ "tremolo-3", but not the two-note "tremolo-start-3"."""
    return mark.startswith(SINGLE_TREMOLO) and mark[len(SINGLE_TREMOLO) :].isdigit()


_LEFT_OUT = {"pedal": "pedal marks", "chord": "chord symbols (taken as the harmony)", "text": "other texts"}
"""Marks of a sketch that no orchestral player reads, in plain words."""


def left_out(sketch: Sketch, house: Notation, parts: Sequence[Part] = ()) -> tuple[str, ...]:
    """What of the sketch's signs and sung text stands in none of the parts, one plain line a kind."""
    trembling, sung = _written(parts)
    kept = {"fermata"}.union(*house.signs.values())
    counts: Counter[str] = Counter()
    for mark in sketch.marks:
        if mark.kind in _LEFT_OUT:
            counts[_LEFT_OUT[mark.kind]] += 1
    for note in sketch.notes:
        if note.lyric and note.id not in sung:
            counts["syllables of text (no voice has their notes)"] += 1
        for sign in note.marks:
            if sign.startswith(START):
                counts["two-note tremolos (written as plain notes)"] += note.id not in trembling
            elif sign not in kept and not is_single_tremolo(sign) and not is_pair(sign):
                counts[f'signs "{sign}"'] += 1
    return tuple(f"not in the score: {what}: {count}" for what, count in sorted((+counts).items()))


def _written(parts: Sequence[Part]) -> tuple[frozenset[str], frozenset[str]]:
    """Notes that begin a written tremolo of two, and notes that are sung."""
    events = [e for part in parts for measure in part.measures for voice in measure.voices for e in voice]
    trembling = {head.source for e in events if any(m.startswith(START) for m in e.marks) for head in e.heads}
    return frozenset(trembling), frozenset(head.source for e in events if e.lyric for head in e.heads)
