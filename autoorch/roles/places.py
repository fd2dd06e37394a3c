"""Places in a sketch as people write them: "9" (start of bar 9), "9.3" (beat 3), "9.3+1/2" (half a beat later).

Beats are units of the metre, from 1. Bars go by their printed numbers where all of them differ, else "#9" counts from the
first bar of the file; the end of the sketch is "end".
"""

from __future__ import annotations

import re
from fractions import Fraction

from autoorch.errors import BriefError
from autoorch.sketch.model import Bar, Sketch

_PLACE = re.compile(r"^(#?[^.\s]+?)(?:\.(\d+)(?:\+(\d+)/(\d+))?)?$")


class Places:
    """Ticks to text and back, exactly, for one sketch."""

    def __init__(self, sketch: Sketch) -> None:
        self.sketch = sketch
        numbers = [bar.number for bar in sketch.bars]
        plain = len(set(numbers)) == len(numbers) and all(re.fullmatch(r"[^\s.#]+", n) and n != "end" for n in numbers)
        self._names = numbers if plain else [f"#{bar.index + 1}" for bar in sketch.bars]
        self._bars = dict(zip(self._names, sketch.bars, strict=True))

    def bar(self, tick: int) -> str:
        """Name of the bar that holds `tick`."""
        return self._names[self.sketch.bar_at(tick).index]

    def told(self, tick: int) -> str:
        """The place of a tick from 0 to the sketch's end."""
        if tick == self.sketch.end:
            return "end"
        bar = self.sketch.bar_at(tick)
        beat, rest = divmod(Fraction(tick - bar.onset) / self._unit(bar), 1)
        if not beat and not rest:
            return self._names[bar.index]
        return f"{self._names[bar.index]}.{beat + 1}" + (f"+{rest.numerator}/{rest.denominator}" if rest else "")

    def tick(self, text: str) -> int:
        """The tick of a place.

        Raises:
            BriefError: where the text is no place of this sketch.
        """
        if text == "end":
            return self.sketch.end
        match = _PLACE.match(text)
        bar = self._bars.get(match.group(1)) if match else None
        if not match or bar is None:
            raise BriefError(
                f'"{text}" is no place of this sketch; write the bar, or bar and beat such as 9.3 or 9.3+1/2'
            )
        beat, over, under = (int(group) if group else 0 for group in match.groups()[1:])
        beats = Fraction(max(0, beat - 1)) + (Fraction(over, under) if under else 0)
        tick = bar.onset + beats * self._unit(bar)
        if tick.denominator != 1 or tick > self.sketch.end:
            raise BriefError(
                f'"{text}" lies between the sketch\'s ticks or behind its end; use a place where a note starts'
            )
        return int(tick)

    def _unit(self, bar: Bar) -> Fraction:
        return Fraction(4 * self.sketch.ticks, bar.metre[1])
