"""How loud one part plays at each place: its written dynamics as MIDI velocities, hairpins as even ramps."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from autoorch.instruments import DYNAMICS
from autoorch.score.model import Part
from autoorch.sketch.model import Bar
from autoorch.write.dynamics import AFTER, FORTE, VELOCITY
from autoorch.write.manner import Manner


@dataclass(frozen=True, slots=True)
class Ramp:
    """From `start` to `end` (ticks) the velocity goes evenly from `first` to `last`, then stays."""

    start: int
    end: int
    first: float
    last: float


class Loudness:
    """The velocity of one part at any tick of the written score.

    Attributes:
        ramps: in time order; one with start == end is a plain dynamic.
        attacks: tick -> what an accented dynamic adds there.
    """

    def __init__(self, part: Part, bars: Sequence[Bar], manner: Manner) -> None:
        marks = [
            (bar.onset + d.onset, d)
            for bar, measure in zip(bars, part.measures, strict=True)
            for d in measure.directions
            if d.kind in ("dynamic", "wedge")
        ]
        attack = manner["attack"]
        self.attacks = {tick: attack[d.value] for tick, d in marks if d.value in attack}
        self.ramps = [Ramp(0, 0, VELOCITY["mf"], VELOCITY["mf"])]
        for index, (tick, mark) in enumerate(marks):
            value = AFTER.get(mark.value, mark.value)
            if mark.value in AFTER:
                self.attacks[tick] = FORTE + attack.get(mark.value, 0) - VELOCITY[value]
            if value in VELOCITY:
                self.ramps.append(Ramp(tick, tick, VELOCITY[value], VELOCITY[value]))
            elif mark.kind == "wedge" and mark.value != "stop":
                later = marks[index + 1 :]
                end = next((t for t, d in later if d.value == "stop"), tick)
                goal = _goal([(t, d.value) for t, d in later if t >= end and d.value != "stop"], end, bars)
                now = self.at(tick)
                up = mark.value == "crescendo"
                last = float(VELOCITY.get(goal, 0))
                if (last > now) != up or not last:
                    last = _next(now, up)
                self.ramps.append(Ramp(tick, end, now, last))

    def at(self, tick: int | Fraction) -> float:
        """Velocity of an unaccented note."""
        ramp = self.ramps[bisect_right(self.ramps, tick, key=_start) - 1]
        if tick >= ramp.end:
            return ramp.last
        return ramp.first + (ramp.last - ramp.first) * float((tick - ramp.start) / (ramp.end - ramp.start))


def _goal(after: Sequence[tuple[int, str]], end: int, bars: Sequence[Bar]) -> str:
    """The dynamic that a hairpin leads to: what stands where it ends, or within a bar from there if nothing else is marked
    before; "" where it leads to none and goes a degree."""
    bar = next((bar for bar in bars if bar.end > end), bars[-1])
    first = min((tick for tick, _ in after), default=end)
    found = [value for tick, value in after if tick == first <= end + bar.length and value in VELOCITY]
    return found[0] if found else ""


def _next(now: float, up: bool) -> float:
    """The next dynamic up or down."""
    steps = [VELOCITY[name] for name in DYNAMICS]
    if up:
        return float(next((v for v in steps if v > now), steps[-1]))
    return float(next((v for v in reversed(steps) if v < now), steps[0]))


def _start(ramp: Ramp) -> int:
    return ramp.start
