"""The tempo of the mock-up along the played bars: marks, ritardandi and accelerandi as steps, fermatas as held-up time."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from autoorch.score.model import Direction, Score
from autoorch.write.clock import QUARTER, Clock
from autoorch.write.manner import Manner

MINUTE = 60_000_000
"""Microseconds."""
BACK, FIRST = "a tempo", ("tempo i.", "tempo 1.", "tempo primo")
"""Words that bring back the tempo before a change, and the first one."""
SLOWEST, FASTEST = 4.0, 2000.0
"""Quarters a minute that set_tempo can say with room to spare (three bytes of microseconds)."""


@dataclass(frozen=True)
class TempoMap:
    """Steps of constant tempo: `starts` in MIDI ticks (the first is 0), `micros` in microseconds a quarter."""

    starts: tuple[int, ...]
    micros: tuple[int, ...]

    def seconds(self, tick: int) -> float:
        """From the beginning to a MIDI tick."""
        total = 0
        for start, end, micros in zip(self.starts, (*self.starts[1:], tick), self.micros, strict=True):
            if start >= tick:
                break
            total += (min(end, tick) - start) * micros
        return total / (QUARTER * 1e6)

    def quarters_a_minute(self, tick: int) -> float:
        """In force at a MIDI tick."""
        return MINUTE / self.micros[max(0, bisect_right(self.starts, tick) - 1)]


@dataclass(frozen=True, slots=True)
class _Mark:
    """Something about the tempo at a played tick: `value` quarters a minute or None; `words` in lower case."""

    tick: int
    value: float | None
    words: str


def tempo_map(score: Score, order: Sequence[int], clock: Clock, manner: Manner) -> TempoMap:
    """The tempo of the bars played in `order`."""
    base = list(_base(score, order, clock, manner))
    held = list(_held(score, order, clock))
    edges: list[int | Fraction] = sorted({0, *(tick for tick, _ in base), *(tick for pair in held for tick in pair)})
    rows: list[tuple[int, int]] = []
    at = [tick for tick, _ in base]
    for edge in edges:
        if edge >= clock.end and edge:
            continue
        value = base[max(0, bisect_right(at, edge) - 1)][1]
        if any(start <= edge < end for start, end in held):
            value /= manner["tempo"]["fermata"]
        micros = round(MINUTE / min(FASTEST, max(SLOWEST, value)))
        if not rows or rows[-1][1] != micros:
            rows.append((clock.midi(edge), micros))
    return TempoMap(tuple(tick for tick, _ in rows), tuple(micros for _, micros in rows))


def _marks(score: Score, order: Sequence[int], clock: Clock) -> Iterator[_Mark]:
    for index, start in zip(order, clock.starts, strict=True):
        for mark in sorted(score.parts[0].measures[index].directions, key=_onset):
            if mark.kind == "tempo":
                yield _Mark(start + mark.onset, float(mark.value) if mark.value else None, _plain(mark.text))
            elif mark.kind == "words":
                yield _Mark(start + mark.onset, None, _plain(mark.value))


def _plain(words: str) -> str:
    """Lower case, with a full stop, without what only says how much: "(poco rit)" is "rit."."""
    found = words.strip("() ").lower()
    for much in ("un ", "poco a poco ", "poco ", "molto ", "sempre "):
        found = found.removeprefix(much)
    return f"{found}."


def _onset(mark: Direction) -> int:
    return mark.onset


def _base(score: Score, order: Sequence[int], clock: Clock, manner: Manner) -> Iterator[tuple[Fraction, float]]:
    """(played tick, quarters a minute) wherever the tempo changes, fermatas left aside."""
    table = manner["tempo"]
    step = Fraction(score.ticks, table["divisions"])
    now = steady = first = float(score.tempo)
    yield Fraction(0), now
    marks = list(_marks(score, order, clock))
    for k, mark in enumerate(marks):
        gradual, sudden = _factor(mark.words, table["gradual"]), _factor(mark.words, table["sudden"])
        if mark.value is not None:
            now = steady = mark.value
            first = now if mark.tick == 0 else first
        elif mark.words.startswith(BACK):
            now = steady
        elif mark.words.startswith(FIRST):
            now = steady = first
        elif sudden:
            now = steady = steady * sudden
        elif gradual:
            end, goal = _end(marks[k + 1 :], mark, score, order, clock, manner)
            last = goal if goal and (goal > now) == (gradual > 1) else now * gradual
            count = max(1, -((mark.tick - end) // step))
            for place in range(count):
                yield mark.tick + place * step, now + (last - now) * (place + 1) / count
            now = steady
            yield Fraction(end), now
            continue
        else:
            continue
        yield Fraction(mark.tick), now


def _end(
    later: Sequence[_Mark], mark: _Mark, score: Score, order: Sequence[int], clock: Clock, manner: Manner
) -> tuple[int, float]:
    """Where a gradual change ends and the tempo it leads to (0 where none is written)."""
    table = manner["tempo"]
    known = (BACK, *FIRST, *table["gradual"], *table["sudden"])
    place = bisect_right(clock.starts, mark.tick) - 1
    ends = [start + score.bars[index].length for index, start in zip(order, clock.starts, strict=True)]
    following = ends[min(place + table["reach"], len(ends) - 1)]
    for found in later:
        if mark.tick < found.tick <= following and (found.value is not None or found.words.startswith(known)):
            return found.tick, found.value or 0.0
    whole = mark.tick == clock.starts[place]
    return ends[min(place + table["bars"] - whole, len(ends) - 1)], 0.0


def _factor(words: str, table: Manner) -> float:
    return next((float(factor) for name, factor in table.items() if words.startswith(name)), 0.0)


def _held(score: Score, order: Sequence[int], clock: Clock) -> list[tuple[int, int]]:
    """Stretches of played ticks under a fermata: the shortest note that ends with each, the last beat of a bar whose line
    has one."""
    inside: dict[int, list[tuple[int, int]]] = {}
    for index, bar in enumerate(score.bars):
        spans: dict[int, int] = {}
        for part in score.parts:
            for voice in part.measures[index].voices:
                for event in voice:
                    if "fermata" in event.marks and event.duration:
                        end = event.onset + event.duration
                        spans[end] = max(spans.get(end, 0), event.onset)
        if bar.fermata and bar.length not in spans:
            spans[bar.length] = max(0, bar.length - 4 * score.ticks // bar.metre[1])
        inside[index] = sorted((start, end) for end, start in spans.items())
    return [
        (base + start, base + end)
        for index, base in zip(order, clock.starts, strict=True)
        for start, end in inside[index]
    ]
