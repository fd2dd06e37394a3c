"""Chords and figures lie between bass and tune: which octaves would put them beyond."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from statistics import mean

from autoorch.layers.model import Material
from autoorch.problem.data import Span

FILLING = ("inner", "figure", "rhythm")
"""Roles of strands that fill the space between the outer lines (common practice: what accompanies stays under the tune)."""


class Between:
    """The sketch's tune and bass, looked up span by span."""

    def __init__(self, material: Material) -> None:
        self._tune = _Line(material, "melody")
        self._bass = _Line(material, "bass")

    def beyond(self, span: Span, lines: Sequence[int], octave: int) -> bool:
        """Moved by `octave` octaves the span's lines lie, on average, above the tune or below the bass of the sketch there."""
        pitch = mean(span.lines[line].mean for line in lines) + 12 * octave
        if octave > 0:
            tune = self._tune.mean(span.start, span.end)
            return tune is not None and pitch > tune
        bass = self._bass.mean(span.start, span.end) if octave else None
        return bass is not None and pitch < bass


class _Line:
    """Attacks of the principal lines of the sketch's strands of one role."""

    def __init__(self, material: Material, role: str) -> None:
        strands = [s for s in material.strands if s.layer == "assigned" and s.role == role and s.lines]
        notes = sorted((note.onset, note.pitch.midi) for strand in strands for note in strand.lines[0].notes)
        self.onsets = [onset for onset, _ in notes]
        self.pitches = [pitch for _, pitch in notes]

    def mean(self, start: int, end: int) -> float | None:
        """Mean pitch (MIDI) of what starts in [start, end), or None."""
        here = self.pitches[bisect_left(self.onsets, start) : bisect_left(self.onsets, end)]
        return mean(here) if here else None
