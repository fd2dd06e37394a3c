"""Which of the sketch's signs mean something to a player: a pianist's fingerings don't, a trill does."""

from __future__ import annotations

from collections.abc import Sequence

from autoorch.instruments import Instrument

ARTICULATIONS = ("accent", "strong-accent", "staccato", "tenuto", "detached-legato", "staccatissimo", "spiccato",
    "scoop", "plop", "doit", "falloff", "breath-mark", "caesura", "stress", "unstress")  # fmt: skip
ORNAMENTS = ("trill-mark", "turn", "delayed-turn", "inverted-turn", "delayed-inverted-turn", "vertical-turn",
    "inverted-vertical-turn", "shake", "mordent", "inverted-mordent", "schleifer", "haydn")  # fmt: skip
STRINGS = ("up-bow", "down-bow", "harmonic", "open-string", "snap-pizzicato", "thumb-position")
SINGLE_TREMOLO = "tremolo-"
ARPEGGIO = "arpeggiate"


def player_marks(
    instrument: Instrument, sounding: Sequence[Sequence[str]], starting: Sequence[Sequence[str]], heads: int
) -> tuple[str, ...]:
    """The signs of one written event, sorted.

    Args:
        instrument: who plays it.
        sounding: the sketch's signs on all notes of the event (a tremolo goes on over a tie).
        starting: those on the notes that begin here.
        heads: notes in the chord (only a chord can be spread).
    """
    kept = set(ARTICULATIONS + ORNAMENTS)
    if instrument.kind == "bowed":
        kept.update(STRINGS)
    if heads > 1 and instrument.kind in ("keys", "plucked", "bowed"):
        kept.add(ARPEGGIO)
    found = {mark for marks in starting for mark in marks if mark in kept}
    found |= {mark for marks in sounding for mark in marks if is_single_tremolo(mark)}
    return tuple(sorted(found))


def is_single_tremolo(mark: str) -> bool:
    """ "tremolo-3", but not the two-note "tremolo-start-3"."""
    return mark.startswith(SINGLE_TREMOLO) and mark[len(SINGLE_TREMOLO) :].isdigit()
