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
    for part in score.parts:
        if part.kind not in ("wind", "voice") or part.section:
            continue
        faults = list(_chords(part, table["overlap"]))
        bars = {score.bar(fault.tick) for fault in faults}
        played = {score.bar(note.start) for note in part.notes}
        if len(bars) >= table["bars"] and len(bars) >= table["throughout"] * len(played):
            worst = max(faults, key=lambda fault: (fault.size, -fault.tick))
            share = f"{len(bars)} of {len(played)} bars"
            message = f"chords in {share}, such as {worst.message}: a stave for several says so in its name"
            faults = [Fault(part, faults[0].tick, "unplayable", worst.figure, worst.limit, message)]
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
