"""One note at a time: a chord on a wind part, unless its stave holds enough players."""

from __future__ import annotations

from collections.abc import Iterator

from autoorch.check.find import Fault, state
from autoorch.check.limits import Limits
from autoorch.check.model import Part, Score
from autoorch.check.report import Finding


def chords(score: Score, limits: Limits) -> Iterator[Finding]:
    """Unplayable where more pitches sound than people are there to play them."""
    table = limits.of("one_note")
    faults = [
        fault
        for part in score.parts
        if part.kind in ("wind", "voice") and not part.section
        for fault in _chords(part, table["overlap"])
    ]
    yield from state(score, "one note at a time", table["source"], faults)


def _chords(part: Part, overlap: float) -> Iterator[Fault]:
    for sounding in part.moments:
        at = sounding[-1].at
        pitches = sorted({note.pitch: note for note in sounding if note.until - at > overlap}.items())
        players = min((note.players for note in sounding if note.players), default=part.players)
        if len(pitches) > players:
            names = " ".join(note.name for _, note in pitches)
            who = "one player" if players == 1 else f"{players} players"
            message = f"{names} at once for {who}"
            yield Fault(part, sounding[-1].start, "unplayable", str(len(pitches)), str(players), message, len(pitches))


RULES = (chords,)
