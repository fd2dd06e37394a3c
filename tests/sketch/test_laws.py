"""What holds for every sketch, on scores that hypothesis writes: the file's own arithmetic against what is read."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.xml import COMMON, bar, note, read, score

VALUES = {"half": Fraction(2), "quarter": Fraction(1), "eighth": Fraction(1, 2), "16th": Fraction(1, 4)}
TUPLETS = (None, (3, 2), (5, 4), (7, 4), (6, 4))
PITCHES = st.sampled_from(("C3", "F#3", "Bb3", "C4", "E4", "G4", "Bb4", "C5", "F#5", "A5"))

Value = tuple[str, int, tuple[int, int] | None]
"""Type, dots, tuplet."""


def length(value: Value) -> Fraction:
    kind, dots, tuplet = value
    plain = VALUES[kind] * (2 - Fraction(1, 2**dots))
    return plain * tuplet[1] / tuplet[0] if tuplet else plain


values = st.tuples(st.sampled_from(sorted(VALUES)), st.integers(0, 2), st.sampled_from(TUPLETS))
voices = st.lists(st.tuples(values, PITCHES | st.none()), min_size=1, max_size=8)
bars = st.lists(st.lists(voices, min_size=1, max_size=3), min_size=1, max_size=4)


def written(measures: list[list[list[tuple[Value, str | None]]]], divisions: int) -> str:
    """Each voice after a backup to the bar's start; durations rounded to the divisions, as programs do."""
    found = []
    for index, measure in enumerate(measures):
        content = ""
        for voice, notes in enumerate(measure, start=1):
            total = 0
            for value, pitch in notes:
                duration = max(1, round(length(value) * divisions))
                kind, dots, tuplet = value
                content += note(pitch or "", duration, kind, dots=dots, tuplet=tuplet, voice=str(voice))
                total += duration
            content += f"<backup><duration>{total}</duration></backup>"
        attributes = f"<divisions>{divisions}</divisions>{COMMON}" if not index else ""
        found.append(bar(content, str(index + 1), attributes))
    return score(found)


@settings(max_examples=60, deadline=None)
@given(bars, st.sampled_from((96, 480, 1024)))
def test_every_note_stands_where_its_values_put_it(
    measures: list[list[list[tuple[Value, str | None]]]], divisions: int
) -> None:
    wanted: Counter[tuple[int, Fraction, Fraction, str]] = Counter()
    for index, measure in enumerate(measures):
        for notes in measure:
            at = Fraction(0)
            for value, pitch in notes:
                if pitch:
                    wanted[index, at, length(value), pitch] += 1
                at += length(value)
    if not wanted:
        return
    sketch = read(written(measures, divisions))
    found: Counter[tuple[int, Fraction, Fraction, str]] = Counter()
    for n in sketch.notes:
        here = sketch.bar_at(n.onset)
        place = Fraction(n.onset - here.onset, sketch.ticks)
        found[here.index, place, Fraction(n.duration, sketch.ticks), str(n.pitch)] += 1
    assert found == wanted
    assert sketch.lost == ()


@settings(max_examples=40, deadline=None)
@given(bars)
def test_bars_join_without_gaps_ids_are_in_order_and_nothing_sticks_out(
    measures: list[list[list[tuple[Value, str | None]]]],
) -> None:
    measures[0][0].append((("quarter", 0, None), "C4"))
    sketch = read(written(measures, 480))
    assert [b.onset for b in sketch.bars[1:]] == [b.end for b in sketch.bars[:-1]]
    assert all(b.length > 0 for b in sketch.bars)
    assert [n.id for n in sketch.notes] == [f"n{k + 1}" for k in range(len(sketch.notes))]
    keys = [(n.onset, n.staff, n.voice, n.pitch.midi) for n in sketch.notes]
    assert keys == sorted(keys)
    assert all(n.duration > 0 and n.end <= sketch.bar_at(n.onset).end for n in sketch.notes)


@settings(max_examples=25, deadline=None)
@given(bars, st.integers(2, 9))
def test_finer_divisions_are_the_same_sketch(measures: list[list[list[tuple[Value, str | None]]]], times: int) -> None:
    """2 * 3 * 5 * 7 * 16 divisions hold every value of these scores exactly."""
    measures[0][0].append((("quarter", 0, None), "C4"))
    assert read(written(measures, 1680 * 4)) == read(written(measures, 1680 * 4 * times))
