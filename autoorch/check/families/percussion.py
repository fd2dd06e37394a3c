"""Mallets and percussion players: sticks, spans, instruments struck together, time to change."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from autoorch.check.find import Fault, state
from autoorch.check.limits import Limits
from autoorch.check.model import Score
from autoorch.check.names import fold
from autoorch.check.report import Finding

_KITS = {"kit", "set", "drumset", "drums", "schlagzeug", "batterie"}


def mallets(score: Score, limits: Limits) -> Iterator[Finding]:
    """Two sticks are usual, four the most; where all four are needed, the two in one hand reach a tenth."""
    table = limits.of("mallets")
    for part in score.parts:
        if part.kind != "mallets":
            continue
        faults = []
        for group in part.onsets:
            pitches = sorted({note.pitch for note in group})
            count, names = len(pitches), " ".join(note.name for note in group)
            if count > table["sticks"]:
                severity = "unplayable" if count > table["most"] else "risky"
                message = f"{count} sticks at once: {names}"
                faults.append(Fault(part, group[0].start, severity, str(count), f"{table['sticks']:g}", message, count))
            if count == table["most"]:
                wide = max(pitches[1] - pitches[0], pitches[-1] - pitches[-2])
                if wide > table["span"]:
                    message, most = f"{wide} semitones between two sticks in one hand: {names}", f"{table['span']:g}"
                    faults.append(Fault(part, group[0].start, "unplayable", str(wide), most, message, wide))
        yield from state(score, "mallets", table["source"], faults)


def strokes(score: Score, limits: Limits) -> Iterator[Finding]:
    """One player's instruments: how many at once, how soon after each other."""
    table = limits.of("percussion")
    for part in score.parts:
        words = set(fold(part.name).split())
        if words & _KITS or part.players > 1 or not any(note.stroke for note in part.notes):
            continue
        faults = []
        owned = {note.stroke for note in part.notes}
        for group in part.onsets:
            names = sorted({note.stroke or note.name for note in group})
            if len(names) > table["together"]:
                message = f"{', '.join(names)} at once for one player"
                faults.append(
                    Fault(part, group[0].start, "unplayable", str(len(names)), f"{table['together']:g}", message, 9)
                )
        for before, after in pairwise(part.onsets):
            left = {note.stroke for note in after} - {note.stroke for note in before}
            gap = after[0].at - max(note.until for note in before)
            if left and {n.stroke for n in before} - {n.stroke for n in after} and gap < table["change"]:
                severity = "unplayable" if gap < table["change_absurd"] and len(owned) > 2 else "risky"
                seconds = f"{max(0.0, gap):.1f} s"
                message = f"from {before[0].stroke} to {after[0].stroke} in {seconds}"
                faults.append(Fault(part, after[0].start, severity, seconds, f"{table['change']:g} s", message, 1))
        yield from state(score, "percussion", table["source"], faults, join=2)


RULES = (mallets, strokes)
