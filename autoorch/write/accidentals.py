"""Accidentals to print: what the key and the bar so far don't say, and a reminder after a change in the bar before.

An accidental holds for its line or space to the end of the bar (common practice); a tie carries it over the bar line.
"""

from __future__ import annotations

from autoorch.pitch import key_alters
from autoorch.score.model import Measure

ACCIDENTAL_NAMES = {
    -3: "triple-flat",
    -2: "flat-flat",
    -1: "flat",
    0: "natural",
    1: "sharp",
    2: "double-sharp",
    3: "triple-sharp",
}

Line = tuple[int, str, int]
"""(staff, letter, octave)"""


class Accidentals:
    """Walks through the bars of one part."""

    def __init__(self) -> None:
        self.before: dict[Line, int] = {}

    def of(self, measure: Measure) -> dict[tuple[int, int, int], str]:
        """(voice, event, head) -> alteration to print, with "?" behind it for a reminder."""
        key = key_alters(measure.fifths)
        state: dict[Line, int] = {}
        last: dict[Line, int] = {}
        found: dict[tuple[int, int, int], str] = {}
        order = [
            (event.onset, voice, place, event)
            for voice, events in enumerate(measure.voices)
            for place, event in enumerate(events)
            if event.heads
        ]
        if len(measure.voices) > 1:
            order.sort(key=lambda row: row[:3])
        for _, voice, place, event in order:
            staff = measure.staff_of[voice]
            for k, head in enumerate(event.heads):
                written = head.written
                line = (staff, written.step, written.octave)
                last[line] = written.alter
                if head.tie_stop:
                    continue
                if written.alter != state.get(line, key[written.step]):
                    found[voice, place, k] = str(written.alter)
                elif line not in state and self.before.get(line, written.alter) != written.alter:
                    found[voice, place, k] = f"{written.alter}?"
                state[line] = written.alter
        self.before = {line: alter for line, alter in last.items() if alter != key[line[1]]}
        return found
